"""What an act did to the aircraft, in two words a reason."""

from typing import Any

from fleet.airworthiness.verdict import Effect, Verdict


def effects_of(acted: Any) -> dict[str, str]:
    """The worst effect of each rule in the verdict of an act (or of a recorded inspection, or the verdict itself)."""
    verdict: Verdict = acted if isinstance(acted, Verdict) else acted.verdict
    worst: dict[str, Effect] = {}
    for reason in verdict.reasons:
        worst[reason.rule] = max(reason.effect, worst.get(reason.rule, Effect.ADVISES))
    return {rule: effect.code for rule, effect in worst.items()}
