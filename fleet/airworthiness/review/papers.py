"""Checks 2, 9, 10 and 11: what papers show, and what only the aircraft itself and its manuals can show."""

from fleet.airworthiness.review.check import Found, Table, day, tables
from fleet.airworthiness.review.known import Known, PaperKnown


def paper_row(paper: PaperKnown) -> tuple[str, ...]:
    """Reference, issue, expiry."""
    return paper.reference or "none", day(paper.issued_on), day(paper.expires_on) or "none"


def _papers(title: str, papers: tuple[PaperKnown, ...]) -> Table:
    return Table(title=title, columns=("Reference", "Issued", "Last valid day"), rows=tuple(map(paper_row, papers)))


def _expired(name: str, papers: tuple[PaperKnown, ...], known: Known) -> tuple[str, ...]:
    """By the one that reaches furthest."""
    if not papers or papers[0].expires_on is None or papers[0].expires_on >= known.today:
        return ()
    return (f"{name} expired, its last valid day was {day(papers[0].expires_on)}. Have it renewed and record it.",)


def flight_manual(known: Known) -> Found:
    """The service keeps no manuals; documents of no kind of its own may be a lead."""
    note = "The service keeps no flight manuals: show the manual, that it is of this aircraft, and its latest revision."
    return Found(notes=(note,), tables=tables(_papers("Other documents", known.of_kind("other"))))


def mass_and_balance(known: Known) -> Found:
    """The weighing report, if one is required."""
    reports = known.of_kind("weighing_report")
    nothing = () if reports else ("No weighing report is recorded: show the mass and balance statement.",)
    changes = "Changes of equipment since the weighing are not compared with it: show that the statement is current."
    return Found(
        open=_expired("The weighing report", reports, known),
        notes=(*nothing, changes),
        tables=tables(_papers("Weighing reports", reports)),
        evidence=bool(reports),
    )


def type_design(known: Known) -> Found:
    """Only that nothing is missing from a required position can be seen from here."""
    missing = known.facts.missing_positions
    notes = ["Whether the aircraft conforms to its type design is seen on the aircraft and in its data: show it."]
    if known.positions and not missing:
        notes.append(f"Required positions recorded for the type: {known.positions}, all filled.")
    wanting = (
        f"{one.title}: the position is required, and empty. Install a component and record it." for one in missing
    )
    return Found(open=tuple(wanting), notes=tuple(notes))


def noise(known: Known) -> Found:
    """The noise certificate, if one is required."""
    papers = known.of_kind("noise_certificate")
    nothing = () if papers else ("No noise certificate is recorded: show it, or that none is required.",)
    return Found(
        open=_expired("The noise certificate", papers, known),
        notes=nothing,
        tables=tables(_papers("Noise certificates", papers)),
        evidence=bool(papers),
    )
