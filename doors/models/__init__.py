"""What hangs in the openings: the book of materials, designs and sizings, parts in service."""

from doors.models.book import Material, SizingRules, StockMove
from doors.models.hung import Door, Sizing
from doors.models.parts import Component, FailureCause, FailureMode, LayUp
from doors.models.transfer import ImportDraft

__all__ = [
    "Component",
    "Door",
    "FailureCause",
    "FailureMode",
    "ImportDraft",
    "LayUp",
    "Material",
    "Sizing",
    "SizingRules",
    "StockMove",
]
