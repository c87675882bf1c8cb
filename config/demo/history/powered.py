"""The stories of the motor gliders and tow planes."""

from config.demo.history.scene import Scene
from inspections.models import InspectionKind


def motor_glider(scene: Scene) -> None:
    """Serviceable, its insurance about to expire. A deferral ran out on it once, and kept it on the ground."""
    ago = scene.days.ago
    dark = scene.report(
        ago(45, "17:40"), "inspector2", "landing-light", "Landing light stays dark.", damage_kind="malfunction"
    )
    scene.triage(dark, ago(44, "09:00"), "officer", "no_hazard", "Not needed by day.")
    scene.defer(dark, ago(44, "09:10"), "officer", scene.days.day(-34), "By day only.", "A lamp is ordered.")
    scene.rectify(dark, ago(30, "18:00"), "inspector", "Lamp renewed, light tried.", parts=["lamp"])
    scene.release(dark, ago(30, "18:20"), "inspector2")
    scene.flying_day(15, "inspector2", 155, 3)
    scene.walk(ago(1, "08:50"), "pilot")
    scene.fly(1, "pilot", 104, 2)
    scene.walk(scene.days.this_morning("08:20"), "inspector2")


def landed_hard(scene: Scene) -> None:
    """Serviceable: the hard landing of last week was looked into by an inspector."""
    ago = scene.days.ago
    scene.walk(ago(9, "09:00"), "pilot")
    hard = scene.occurrence(
        ago(9, "15:10"), "pilot", "heavy_landing", "Dropped from about a metre on the main wheels.", ago(9, "14:50")
    )
    scene.fly(9, "pilot", 138, 21)
    scene.walk(ago(8, "10:00"), "inspector", "inspector2", kind=InspectionKind.UNSCHEDULED, occurrence=hard)
    scene.flying_day(1, "second", 172, 26)
    scene.walk(scene.days.this_morning("07:50"), "second")


def second_tow_plane(scene: Scene) -> None:
    """Serviceable: a deferral withdrawn when the part came, and a noise that was no defect."""
    ago, day = scene.days.ago, scene.days.day
    mirror = scene.report(ago(26, "18:00"), "pilot", "tow-mirror", "Cracked from side to side.", damage_kind="crack")
    scene.triage(mirror, ago(25, "09:00"), "officer", "no_hazard", "The sailplane is still seen in the upper half.")
    scene.defer(mirror, ago(25, "09:10"), "officer", day(5), "No tows with a pupil at the controls.", "Mirror ordered.")
    scene.withdraw(mirror, ago(19, "17:00"), "officer", "The new mirror has come.")
    scene.rectify(mirror, ago(19, "18:30"), "officer", "Mirror renewed and aligned.", supervised_by="inspector2")
    scene.release(mirror, ago(19, "18:50"), "inspector2")
    scene.flying_day(9, "officer", 151, 22)
    scene.walk(ago(3, "09:00"), "second")
    noise = scene.report(ago(3, "17:00"), "second", None, "Knocks at the back when taxiing.")
    scene.fly(3, "second", 89, 13)
    scene.triage(
        noise,
        ago(2, "10:00"),
        "inspector",
        "no_defect",
        "A stone in the tread of the tail wheel, taken out. No mark on fork or tyre.",
        item_code="tail-wheel",
    )
    scene.walk(scene.days.this_morning("08:00"), "officer")


def neighbour(scene: Scene) -> None:
    """The aircraft of the second club: serviceable and inspected."""
    scene.flying_day(8, "outsider", 127, 3)
    scene.flying_day(1, "outsider", 76, 1)
    scene.walk(scene.days.this_morning("08:30"), "outsider")
