"""How much the state machines do: ``HYPOTHESIS_PROFILE`` (see README.md)."""

import os

from hypothesis import HealthCheck, Phase, settings

PROFILE = os.environ.get("HYPOTHESIS_PROFILE", "ci")
EXAMPLES = {"quick": 60, "ci": 200, "thorough": 2000}[PROFILE]
STEPS = {"quick": 20, "ci": 30, "thorough": 50}[PROFILE]


def profile(share: float = 1.0) -> settings:
    """``share``: part of the examples. The same examples every time in CI, others every time in a thorough run."""
    return settings(
        max_examples=max(1, int(EXAMPLES * share)),
        stateful_step_count=STEPS,
        derandomize=PROFILE != "thorough",
        phases=[Phase.generate] if PROFILE == "quick" else [Phase.generate, Phase.shrink],
        deadline=None,
        database=None,
        print_blob=True,
        suppress_health_check=list(HealthCheck),
    )
