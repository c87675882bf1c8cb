"""The act table: which act leads a defect from where to where, who may take it and what it needs.

Pure data. The services ask it, the API lists allowed acts from it, the diagram in DEVELOPERS.md and the tests
are generated from it.
"""

from dataclasses import dataclass
from enum import StrEnum

from fleet.models import Role


class State(StrEnum):
    """The states of a defect."""

    REPORTED = "reported"
    ASSESSED = "assessed"
    DEFERRED = "deferred"
    RECTIFIED = "rectified"
    RELEASED = "released"
    NO_DEFECT = "no_defect"


OPEN_STATES = (State.REPORTED, State.ASSESSED, State.DEFERRED, State.RECTIFIED)
CLOSED_STATES = (State.RELEASED, State.NO_DEFECT)

WRITERS = frozenset({Role.PILOT, Role.TECHNICAL_OFFICER, Role.INSPECTOR, Role.ADMINISTRATOR})
WORKERS = frozenset({Role.PILOT, Role.TECHNICAL_OFFICER, Role.INSPECTOR})
DECIDERS = frozenset({Role.TECHNICAL_OFFICER, Role.INSPECTOR})
INSPECTORS = frozenset({Role.INSPECTOR})


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """One arrow of the machine: the condition tells apart edges of the same act."""

    source: State
    target: State
    when: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """One thing that people (or a scheduled job) do to a defect."""

    code: str
    title: str
    edges: tuple[Edge, ...]
    by: frozenset[Role]  # empty: a scheduled job only
    who: str  # the same in words, with what lies beyond the role
    needs: tuple[str, ...]

    @property
    def sources(self) -> frozenset[State]:
        """States from which the act may be taken."""
        return frozenset(edge.source for edge in self.edges)


TRIAGE = Act(
    code="triage",
    title="Triage",
    edges=(
        Edge(source=State.REPORTED, target=State.ASSESSED, when="hazard or no hazard"),
        Edge(source=State.REPORTED, target=State.NO_DEFECT, when="no defect"),
        Edge(source=State.ASSESSED, target=State.ASSESSED, when="assessed again"),
        Edge(source=State.ASSESSED, target=State.NO_DEFECT, when="no defect"),
    ),
    by=DECIDERS,
    who="technical officer or inspector; inspector only: no defect on a critical or unclassified item, moving a defect from a"
    " critical to a non-critical item, lowering a hazard",
    needs=("assessment", "justification"),
)
DEFER = Act(
    code="defer",
    title="Defer",
    edges=(Edge(source=State.ASSESSED, target=State.DEFERRED),),
    by=DECIDERS,
    who="technical officer or inspector",
    needs=(
        "assessed as no hazard",
        "a deferrable, non-critical item",
        "a limit",
        "limitations",
        "basis",
        "justification",
    ),
)
WITHDRAW_DEFERRAL = Act(
    code="withdraw-deferral",
    title="Withdraw the deferral",
    edges=(Edge(source=State.DEFERRED, target=State.ASSESSED, when="withdrawn"),),
    by=DECIDERS,
    who="technical officer or inspector",
    needs=("justification",),
)
EXPIRE = Act(
    code="expire",
    title="The deferral ends",
    edges=(Edge(source=State.DEFERRED, target=State.ASSESSED, when="expired"),),
    by=frozenset(),
    who="scheduled job",
    needs=("a limit has passed",),
)
RECTIFY = Act(
    code="rectify",
    title="Rectify",
    edges=(
        Edge(source=State.ASSESSED, target=State.RECTIFIED),
        Edge(source=State.DEFERRED, target=State.RECTIFIED),
    ),
    by=WORKERS,
    who="inspector, or a member under an inspector named as supervising",
    needs=(
        "work done",
        "data used",
        "when",
        "the measurement that the item demands, inside its limits",
    ),
)
INSPECT_INDEPENDENTLY = Act(
    code="independent-inspection",
    title="Inspect independently",
    edges=(
        Edge(source=State.RECTIFIED, target=State.RECTIFIED, when="accepted"),
        Edge(source=State.RECTIFIED, target=State.ASSESSED, when="rejected"),
    ),
    by=DECIDERS,
    who="a member authorised for independent inspection who neither did, supervised nor recorded the work",
    needs=("outcome", "remark"),
)
RELEASE = Act(
    code="release",
    title="Release to service",
    edges=(Edge(source=State.RECTIFIED, target=State.RELEASED),),
    by=INSPECTORS,
    who="inspector whose authorisation covers the aircraft and is in date",
    needs=(
        "password again",
        "statement accepted",
        "on a critical item: an accepted independent inspection",
    ),
)
ACTS: tuple[Act, ...] = (
    TRIAGE,
    DEFER,
    WITHDRAW_DEFERRAL,
    EXPIRE,
    RECTIFY,
    INSPECT_INDEPENDENTLY,
    RELEASE,
)
ACT_BY_CODE = {act.code: act for act in ACTS}


def mermaid() -> str:
    """The state diagram as Mermaid text, for DEVELOPERS.md."""
    lines = ["stateDiagram-v2", "    [*] --> reported: report"]
    for act in ACTS:
        for edge in act.edges:
            label = f"{act.code} ({edge.when})" if edge.when else act.code
            lines.append(f"    {edge.source} --> {edge.target}: {label}")
    lines += [f"    {state} --> [*]" for state in CLOSED_STATES]
    return "\n".join(lines)
