"""The airworthiness review pack: what the records hold for the eleven documented checks of one aircraft."""

from inspections.services.review.pack import pack, printed

__all__ = ["pack", "printed"]
