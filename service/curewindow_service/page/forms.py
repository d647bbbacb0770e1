"""Forms read field by field: every slip is told at its own field, and nothing typed is lost."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TypeVar

from starlette.requests import Request

from curewindow.errors import CurewindowError
from curewindow.quantity import QuantityKind, parse
from curewindow_service.page.site import Site

AnswerT = TypeVar("AnswerT")

_LONGEST = 2000
STALE = "this page was open for too long: look at it once more and press again"


@dataclass(slots=True)
class PostedForm:
    """What was sent, and what is wrong with it by the name of the field ('' for the whole)."""

    values: dict[str, str]
    errors: dict[str, str] = field(default_factory=dict)

    def text(self, name: str) -> str:
        """A field as it was typed, without blanks around it."""
        return self.values.get(name, "").strip()

    def quantity(self, name: str, kind: QuantityKind, unit: str) -> float | None:
        """A number in the unit that stood beside the field, or with its own; None where empty."""
        text = self.text(name)
        if not text:
            return None
        written = text if not text[-1].isdigit() and text[-1] not in ".," else f"{text} {unit}"
        return self.checked(name, lambda: parse(written, kind))

    def degrees(self) -> str:
        """The unit its temperatures were shown in."""
        return "°F" if self.text("unit") == "°F" else "°C"

    def checked(self, name: str, read: Callable[[], AnswerT]) -> AnswerT | None:
        """What ``read`` makes of a field; what is wrong with it is kept."""
        try:
            return read()
        except CurewindowError as bad:
            self.errors[name] = bad.for_page()
        return None


async def read_form(request: Request, site: Site) -> PostedForm:
    """The form a request brings; one that is not from a page of this session has an error."""
    sent = await request.form(max_files=0, max_fields=400)
    values = {name: value[:_LONGEST] for name, value in sent.items() if isinstance(value, str)}
    form = PostedForm(values)
    session = request.scope["state"].get("session")
    if not site.keys.is_form_token(session, values.get("form_token", "")):
        form.errors[""] = STALE
    return form
