"""The maintenance programme: tasks and directives, what was done, and the limits that follow from it."""

import uuid

from django.contrib.postgres.fields import ArrayField
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.db.models import Q

from fleet.models import Aircraft, AircraftType, Authorisation, Club, Component, ComponentKind, Membership
from fleet.models.guard import append_only
from fleet.models.usage import DIMENSIONS
from inspections.models.records import Inspection


class Counting(models.TextChoices):
    """Where the next interval counts from."""

    FROM_ACTUAL = "from_actual"
    FROM_SCHEDULED_INSIDE_WINDOW = "from_scheduled_inside_window"
    FROM_SCHEDULED = "from_scheduled"
    OVERRUN_DEDUCTED = "overrun_deducted"


class LimitDimension(models.TextChoices):
    """What an interval is counted in; a task has at most one of the calendar."""

    AIRFRAME_MINUTES = "airframe_minutes"
    LAUNCHES = "launches"
    LANDINGS = "landings"
    ENGINE_MINUTES = "engine_minutes"
    ENGINE_STARTS = "engine_starts"
    CYCLES = "cycles"
    DAYS = "days"
    MONTHS = "months"
    CALENDAR_MONTHS = "calendar_months"


CALENDAR = (LimitDimension.DAYS, LimitDimension.MONTHS, LimitDimension.CALENDAR_MONTHS)


class Directive(models.Model):
    """An airworthiness directive or mandatory bulletin; a revision is a new record that supersedes the old one."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="directives")
    reference = models.CharField(max_length=60)
    revision = models.CharField(max_length=20, blank=True)
    title = models.CharField(max_length=200)
    issuer = models.CharField(max_length=80)
    issued_on = models.DateField()
    effective_on = models.DateField()
    aircraft_types = models.ManyToManyField(AircraftType, blank=True, related_name="directives")
    component_kinds = models.ManyToManyField(ComponentKind, blank=True, related_name="directives")
    serial_from = models.CharField(max_length=40, blank=True)
    serial_to = models.CharField(max_length=40, blank=True)
    supersedes = models.OneToOneField("self", on_delete=models.PROTECT, null=True, related_name="superseded_by")
    recorded_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(name="one_directive_revision", fields=["club", "reference", "revision"]),
            models.CheckConstraint(
                name="directive_not_itself", condition=Q(supersedes=None) | ~Q(supersedes=models.F("id"))
            ),
        ]

    def __str__(self) -> str:
        return f"{self.reference} {self.revision}".strip()


class DirectiveAssessment(models.Model):
    """Somebody decided whether a directive applies to an aircraft (or to a component of it)."""

    class Decision(models.TextChoices):
        """Applies or not."""

        APPLICABLE = "applicable"
        NOT_APPLICABLE = "not_applicable"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    directive = models.ForeignKey(Directive, on_delete=models.PROTECT, related_name="assessments")
    aircraft = models.ForeignKey(Aircraft, on_delete=models.PROTECT, related_name="directive_assessments")
    component = models.ForeignKey(Component, on_delete=models.PROTECT, null=True, related_name="directive_assessments")
    decision = models.CharField(max_length=16, choices=Decision.choices)
    reason = models.TextField()
    assessed_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    assessed_at = models.DateTimeField()

    class Meta:
        constraints = [models.CheckConstraint(name="directive_assessment_reason", condition=Q(reason__regex=r"\S"))]
        indexes = [models.Index(name="directive_assessed", fields=["aircraft", "directive", "assessed_at"])]
        triggers = append_only()

    def __str__(self) -> str:
        return f"{self.directive_id} on {self.aircraft_id}: {self.decision}"


class Task(models.Model):
    """A line of the programme: of a type, of one aircraft, or of a kind of component; or what a directive demands."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="tasks")
    aircraft_type = models.ForeignKey(AircraftType, on_delete=models.PROTECT, null=True, related_name="tasks")
    aircraft = models.ForeignKey(Aircraft, on_delete=models.PROTECT, null=True, related_name="tasks")
    component_kind = models.ForeignKey(ComponentKind, on_delete=models.PROTECT, null=True, related_name="tasks")
    directive = models.ForeignKey(Directive, on_delete=models.PROTECT, null=True, related_name="tasks")
    code = models.CharField(max_length=60)
    title = models.CharField(max_length=200)
    basis = models.CharField(max_length=200, help_text="programme, manual, regulation or directive, with its issue")
    mandatory = models.BooleanField(default=True)
    life_limit = models.BooleanField(default=False, help_text="of a component: no tolerance, not repeated")
    counting = models.CharField(max_length=30, choices=Counting.choices, default=Counting.FROM_ACTUAL)
    active = models.BooleanField(default=True)
    created_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="task_of_one_thing",
                condition=Q(aircraft_type__isnull=False, aircraft=None, component_kind=None)
                | Q(aircraft_type=None, aircraft__isnull=False, component_kind=None)
                | Q(aircraft_type=None, aircraft=None, component_kind__isnull=False),
            ),
            models.CheckConstraint(
                name="life_limit_of_a_component",
                condition=Q(life_limit=False) | Q(component_kind__isnull=False, mandatory=True),
            ),
            models.CheckConstraint(name="task_counting_known", condition=Q(counting__in=Counting.values)),
            models.UniqueConstraint(name="one_task_code_a_club", fields=["club", "code"]),
        ]

    def __str__(self) -> str:
        return self.code


class TaskLimit(models.Model):
    """One dimension of a task's interval. A task without a stated tolerance has none."""

    task = models.ForeignKey(Task, on_delete=models.PROTECT, related_name="limits")
    dimension = models.CharField(max_length=20, choices=LimitDimension.choices)
    first = models.PositiveIntegerField(null=True, help_text="first interval, if it differs")
    every = models.PositiveIntegerField(null=True, help_text="none: once")
    tolerance = models.PositiveIntegerField(default=0)
    tolerance_in = models.CharField(max_length=10, blank=True, help_text="days or months, of a calendar limit")
    notice = models.PositiveIntegerField(default=0, help_text="due soon so much before; days for a calendar limit")

    class Meta:
        constraints = [
            models.UniqueConstraint(name="one_limit_a_dimension", fields=["task", "dimension"]),
            models.UniqueConstraint(
                name="one_calendar_limit", fields=["task"], condition=Q(dimension__in=list(CALENDAR))
            ),
            models.CheckConstraint(name="limit_dimension_known", condition=Q(dimension__in=LimitDimension.values)),
            models.CheckConstraint(name="limit_given", condition=Q(first__gt=0) | Q(every__gt=0)),
            models.CheckConstraint(
                name="limit_tolerance_unit",
                condition=Q(tolerance_in="", dimension__in=list(DIMENSIONS))
                | Q(tolerance_in__in=["days", "months"], dimension__in=list(CALENDAR)),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.every} {self.dimension}"


class Compliance(models.Model):
    """A task was done: when, at which readings, by whom, to which data, released by whom."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    task = models.ForeignKey(Task, on_delete=models.PROTECT, related_name="compliances")
    aircraft = models.ForeignKey(Aircraft, on_delete=models.PROTECT, null=True, related_name="compliances")
    component = models.ForeignKey(Component, on_delete=models.PROTECT, null=True, related_name="compliances")
    inspection = models.ForeignKey(Inspection, on_delete=models.PROTECT, null=True, related_name="compliances")
    done_on = models.DateField()
    readings = models.JSONField(encoder=DjangoJSONEncoder, help_text="totals by dimension; a missing one is unknown")
    method = models.TextField(help_text="what was done; for a directive, by which method")
    data_used = models.CharField(max_length=500)
    findings = models.TextField(blank=True)
    terminates = models.BooleanField(
        default=False, help_text="a directive's terminating action: nothing is due any more"
    )
    authorisation = models.ForeignKey(Authorisation, on_delete=models.PROTECT, null=True, related_name="+")
    limits_before = models.JSONField(
        null=True, encoder=DjangoJSONEncoder, help_text="under which it was done, on the subject's own meter"
    )
    opening = models.BooleanField(default=False, help_text="taken over from earlier records; not signed here")
    done_by = models.CharField(max_length=120)
    recorded_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="compliance_on_something", condition=Q(aircraft__isnull=False) | Q(component__isnull=False)
            ),
            models.CheckConstraint(
                name="compliance_signed_or_opening", condition=Q(opening=True) | Q(authorisation__isnull=False)
            ),
            models.CheckConstraint(
                name="compliance_described", condition=Q(method__regex=r"\S") & Q(data_used__regex=r"\S")
            ),
        ]
        indexes = [models.Index(name="compliance_latest", fields=["task", "aircraft", "component", "-done_on"])]
        triggers = append_only()

    def __str__(self) -> str:
        return f"{self.task_id} on {self.done_on}"


class DueState(models.TextChoices):
    """State of a due item."""

    OK = "ok"
    DUE_SOON = "due_soon"
    IN_TOLERANCE = "in_tolerance"
    OVERDUE = "overdue"
    UNKNOWN = "unknown"


class StoredLimits(models.Model):
    """Limits as columns, so that one statement compares every row: notice <= due <= hard in each dimension."""

    notice_on = models.DateField(null=True)
    due_on = models.DateField(null=True)
    hard_on = models.DateField(null=True)
    notice_airframe_minutes = models.BigIntegerField(null=True)
    due_airframe_minutes = models.BigIntegerField(null=True)
    hard_airframe_minutes = models.BigIntegerField(null=True)
    notice_launches = models.BigIntegerField(null=True)
    due_launches = models.BigIntegerField(null=True)
    hard_launches = models.BigIntegerField(null=True)
    notice_landings = models.BigIntegerField(null=True)
    due_landings = models.BigIntegerField(null=True)
    hard_landings = models.BigIntegerField(null=True)
    notice_engine_minutes = models.BigIntegerField(null=True)
    due_engine_minutes = models.BigIntegerField(null=True)
    hard_engine_minutes = models.BigIntegerField(null=True)
    notice_engine_starts = models.BigIntegerField(null=True)
    due_engine_starts = models.BigIntegerField(null=True)
    hard_engine_starts = models.BigIntegerField(null=True)
    notice_cycles = models.BigIntegerField(null=True)
    due_cycles = models.BigIntegerField(null=True)
    hard_cycles = models.BigIntegerField(null=True)

    class Meta:
        abstract = True


class DueItem(StoredLimits):
    """Limits of one task on one aircraft (or on a component in it), stored when work is signed.

    Usage limits are readings of the aircraft's own meter, also for a component: they are moved when it is installed.
    So one comparison of columns tells the state of every row.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    task = models.ForeignKey(Task, on_delete=models.PROTECT, related_name="due_items")
    aircraft = models.ForeignKey(Aircraft, on_delete=models.PROTECT, related_name="due_items")
    component = models.ForeignKey(Component, on_delete=models.PROTECT, null=True, related_name="due_items")
    last = models.ForeignKey(Compliance, on_delete=models.PROTECT, null=True, related_name="+")
    intervals = models.JSONField(
        default=dict, help_text="interval behind each limit, by measure; of the calendar with its anchor and months"
    )
    offsets = models.JSONField(
        default=dict, help_text="what the aircraft's meter shows more than the component's, by dimension"
    )
    unknown = ArrayField(models.CharField(max_length=20), default=list, help_text="measures with nothing to count from")
    finished = models.BooleanField(default=False, help_text="to be done once, and done")
    state = models.CharField(max_length=14, choices=DueState.choices)
    changed_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                name="one_due_item", fields=["task", "aircraft", "component"], nulls_distinct=False
            ),
            models.CheckConstraint(name="due_state_known", condition=Q(state__in=DueState.values)),
            models.CheckConstraint(
                name="due_dates_together",
                condition=Q(notice_on=None, due_on=None, hard_on=None)
                | Q(due_on__isnull=False, hard_on__isnull=False, notice_on__isnull=False),
            ),
        ]
        indexes = [
            models.Index(name="due_of_aircraft", fields=["aircraft"]),
            models.Index(name="due_keyset", fields=["changed_at", "id"]),
        ]

    def __str__(self) -> str:
        return f"{self.task_id} on {self.aircraft_id}: {self.state}"
