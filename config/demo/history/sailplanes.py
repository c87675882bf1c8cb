"""The stories of the sailplanes."""

from decimal import Decimal

from config.demo.history.scene import Scene
from inspections.models import InspectionKind, Outcome


def two_seater(scene: Scene) -> None:
    """Serviceable and inspected this morning; a frayed cable and a rigging lie behind it."""
    ago = scene.days.ago
    scene.walk(ago(100, "17:00"), "inspector", "inspector2", kind=InspectionKind.PERIODIC)
    _frayed_cable(scene)
    scene.walk(ago(36, "09:30"), "second", "officer")
    scene.fly(36, "second", 214, 9)
    _rigging(scene)
    tape = scene.report(
        ago(5, "18:40"), "second", "wing-right-sealing-tape", "Gap tape lifts over a hand's width at the aileron."
    )
    scene.triage(tape, ago(4, "09:15"), "officer", "no_defect", "Smoothed down by hand; it holds again.")
    scene.walk(ago(2, "09:30"), "second", "officer")
    scene.fly(2, "second", 187, 7)
    on_board = {"tail-weight": {"value": Decimal("3.2")}, "fuel-amount": {"value": Decimal("14.5")}}
    scene.walk(scene.days.this_morning("08:45"), "pilot", "second", changes=on_board)


def _frayed_cable(scene: Scene) -> None:
    ago = scene.days.ago
    broken = {
        "description": "Two strands broken at the thimble.",
        "damage_kind": "wear",
        "position": "rear end",
    }
    frayed = scene.defect(scene.walk(ago(40, "09:30"), "pilot", "second", changes={"rudder-cable-left": broken}))
    scene.triage(
        frayed, ago(40, "18:00"), "officer", "hazard", "The cable can part in flight.", severity="B", likelihood=3
    )
    scene.rectify(
        frayed,
        ago(37, "17:10"),
        "inspector",
        "Left rudder cable renewed, tension set, turnbuckle wired.",
        parts=["rudder cable, left"],
    )
    scene.check(frayed, ago(37, "18:30"), "inspector2", "Run, ends, locking and full rudder travel checked.")
    scene.release(frayed, ago(37, "18:50"), "inspector")


def _rigging(scene: Scene) -> None:
    ago = scene.days.ago
    scene.rigging(ago(16, "18:20"), "pilot", "derigged")
    scene.rigging(ago(12, "09:00"), "pilot", "rigged")
    scene.walk(ago(12, "09:40"), "pilot", "officer", kind=InspectionKind.AFTER_RIGGING)
    scene.walk(ago(12, "10:30"), "pilot", "second")
    scene.fly(12, "pilot", 96, 4)


def grounded_trainer(scene: Scene) -> None:
    """Grounded: play in an aileron hinge, found yesterday and assessed as a hazard."""
    ago = scene.days.ago
    scene.flying_day(14, "second", 142, 19, "pilot")
    scene.walk(ago(7, "09:20"), "pilot", "second")
    scene.fly(7, "pilot", 168, 23)
    play = {
        "description": "Outer hinge moves up and down by hand; its bolt looks worn.",
        "damage_kind": "excessive_play",
        "position": "outer hinge",
    }
    changes = {"wing-left-aileron-hinges": play}
    worn = scene.defect(scene.walk(ago(1, "09:20"), "second", "officer", changes=changes))
    scene.triage(
        worn,
        ago(1, "17:30"),
        "inspector",
        "hazard",
        "A worn hinge bolt can let the aileron flutter.",
        severity="A",
        likelihood=2,
    )


def deferred_trainer(scene: Scene) -> None:
    """Limited: flown on with a deaf radio until a date ahead."""
    ago = scene.days.ago
    scene.walk(ago(9, "09:00"), "second", "pilot")
    deaf = scene.report(
        ago(9, "18:20"),
        "second",
        "radio",
        "Transmits, but nothing is heard.",
        damage_kind="malfunction",
        found_during="flight",
    )
    scene.fly(9, "second", 131, 17)
    scene.triage(
        deaf, ago(8, "10:00"), "officer", "no_hazard", "No radio is required on our field.", severity="D", likelihood=3
    )
    scene.defer(
        deaf,
        ago(8, "10:15"),
        "officer",
        scene.days.day(20),
        "Only within sight of the home field, and not into airspace that requires radio.",
        "A spare receiver is ordered.",
    )
    known = {"radio": {"outcome": Outcome.NOT_APPLICABLE, "remark": "Deferred."}}
    scene.walk(ago(2, "09:00"), "pilot", "second", changes=known)
    scene.fly(2, "pilot", 118, 15)
    scene.walk(scene.days.this_morning("08:10"), "second", "pilot", changes=known)


def scratched_single_seater(scene: Scene) -> None:
    """Limited: a scratch found this morning waits for triage. Two weeks ago a soft tyre was put right."""
    _soft_tyre(scene)
    scene.flying_day(8, "officer", 265, 3, "second")
    scene.flying_day(1, "second", 222, 2, "pilot")
    scratch = {
        "description": "Scratch in the paint, no fibres to be seen.",
        "damage_kind": "scratch",
        "size_mm": Decimal(140),
        "position": "1.2 m from the tip, in front of the aileron",
    }
    scene.walk(scene.days.this_morning("09:05"), "officer", "second", changes={"wing-left-lower-skin": scratch})


def _soft_tyre(scene: Scene) -> None:
    ago = scene.days.ago
    low = {"main-tyre-pressure": {"value": Decimal("2.3")}}
    soft = scene.defect(scene.walk(ago(15, "09:10"), "pilot", "second", changes=low))
    scene.triage(soft, ago(15, "09:40"), "officer", "no_hazard", "Valve core leaks; the tyre itself is sound.")
    pressure = {"quantity": "pressure", "value": Decimal("2.95"), "unit": "bar"}
    scene.rectify(
        soft,
        ago(15, "10:30"),
        "officer",
        "Valve core renewed, tyre filled.",
        supervised_by="inspector",
        parts=["valve core"],
        measurements=[pressure],
    )
    scene.release(soft, ago(15, "11:00"), "inspector")


def waiting_single_seater(scene: Scene) -> None:
    """Serviceable, not inspected yet today. Two days ago somebody began alone and did not finish."""
    scene.flying_day(8, "second", 301, 2, "pilot")
    left_out = {"harnesses": {"outcome": Outcome.NOT_CHECKED, "remark": "Interrupted by rain."}}
    scene.walk(scene.days.ago(2, "09:25"), "pilot", changes=left_out)
    scene.walk(scene.days.ago(1, "09:10"), "pilot", "second")
    scene.fly(1, "pilot", 254, 2)
