"""Run as a program: reads keys from its input and prints what the records say about them and about everything, as JSON."""

import json
import sys

import django

django.setup()

from django.utils import timezone  # noqa: E402

from defects.models import Defect  # noqa: E402
from fleet import assessment, events  # noqa: E402
from fleet.models import Aircraft, AirworthinessState, Club, Event  # noqa: E402
from fleet.services import showing  # noqa: E402
from inspections.models import Inspection, Occurrence, RiggingEvent  # noqa: E402


def broken_chains() -> list[str]:
    return [fault for club in Club.objects.all() for fault in events.verify(club).faults]


def differing() -> list[str]:
    """Aircraft whose stored verdict, as it is shown, differs from the recomputed one."""
    now = timezone.now()
    looks = showing.shown_now(AirworthinessState.objects.all(), now)
    verdicts = assessment.assess(list(looks), now)
    return [str(one) for one, look in looks.items() if look != assessment.shown_values(verdicts[one])]


def effects(keys: list[str]) -> dict[str, int]:
    """How many events tell of each key (a text that its request alone carried)."""
    texts = list(Event.objects.filter(by__isnull=False).values_list("canonical", flat=True))
    return {key: sum(key in text for text in texts) for key in keys}


def numbered() -> bool:
    """Whether the defects of every aircraft are numbered without gap or double."""
    listed = [list(one.defects.order_by("number").values_list("number", flat=True)) for one in Aircraft.objects.all()]
    return all(numbers == list(range(1, len(numbers) + 1)) for numbers in listed)


def rows() -> dict[str, int]:
    return {model.__name__: model.objects.count() for model in (Defect, Inspection, Occurrence, RiggingEvent, Event)}


def main() -> None:
    told = {
        "broken": broken_chains(),
        "differing": differing(),
        "effects": effects(json.load(sys.stdin)),
        "numbered": numbered(),
        "rows": rows(),
    }
    print(json.dumps(told))  # noqa: T201 - its answer


if __name__ == "__main__":
    main()
