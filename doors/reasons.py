"""Why a sizing says what it says, in one sentence."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from doors.codec import from_plain
from doors.sizing import Check, Missing
from doors.wording import check_text, missing_text, refusal_text


def reason_text(reason: Mapping[str, Any], units: str) -> str:
    """Return the reason a sizing keeps beside its verdict as a sentence; empty where there is none."""
    if "check" in reason:
        return check_text(from_plain(Check, reason["check"]), units)
    if "missing" in reason:
        return missing_text(from_plain(Missing, reason["missing"]))
    return refusal_text(reason["refusal"], units) if "refusal" in reason else ""
