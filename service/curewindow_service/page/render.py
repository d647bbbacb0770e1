"""Templates and static files: pages made once for all who look, forms for each."""

from __future__ import annotations

import gzip
import hashlib
import mimetypes
import re
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import Response

from curewindow.voice.cautions import DEFER
from curewindow.wording import keep_together
from curewindow_service.page.current import Current
from curewindow_service.page.guard import said_plainly, set_session
from curewindow_service.page.sessions import Keys, Session
from curewindow_service.page.settings import PageSettings
from curewindow_service.page.views import template_words, upfirst

HERE = Path(__file__).resolve().parent
_KEPT = 128
_SMALL = 600  # not worth squeezing


@dataclass(frozen=True, slots=True)
class Body:
    """What is sent, plain and squeezed, and its mark."""

    plain: bytes
    squeezed: bytes
    media_type: str
    etag: str

    def response(self, request: Request, cache: str, status: int = 200) -> Response:
        """As this browser takes it; nothing where it has it already."""
        headers = {"etag": self.etag, "cache-control": cache, "vary": "accept-encoding, cookie"}
        if status == 200 and request.headers.get("if-none-match") == self.etag:
            return Response(None, 304, headers)
        content = self.plain
        if self.squeezed and "gzip" in request.headers.get("accept-encoding", ""):
            headers["content-encoding"] = "gzip"
            content = self.squeezed
        return Response(content, status, headers, self.media_type)


def body_of(content: bytes, media_type: str) -> Body:
    """Squeeze it once."""
    squeezed = gzip.compress(content, 6, mtime=0) if len(content) > _SMALL else b""
    mark = hashlib.sha256(content).hexdigest()[:20]
    return Body(content, squeezed, media_type, f'"{mark}"')


# Text between two tags.
_READ = re.compile(r">[^<>]+<")


class Pages:
    """Everything that is shown.

    Parameters
    ----------
    current : Current
    keys : Keys
    settings : PageSettings
    """

    def __init__(self, current: Current, keys: Keys, settings: PageSettings) -> None:
        self.current = current
        self.keys = keys
        self.settings = settings
        self.static = _static_files()
        self._made: OrderedDict[tuple[object, ...], Body] = OrderedDict()
        self._environment = Environment(
            loader=FileSystemLoader(HERE / "templates"),
            autoescape=True,
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
        )
        self._environment.filters["upfirst"] = upfirst
        self._environment.globals.update(
            template_words(),
            DEFER=DEFER,
            static={name.partition("-")[0]: f"/static/{name}" for name in self.static},
            login=settings.token is not None,
            calendar=False,
        )

    def has_calendar(self) -> None:
        """Say on the pages that there is a calendar."""
        self._environment.globals["calendar"] = True

    def live(
        self, request: Request, template: str, about: str, context: Callable[[], dict[str, Any]]
    ) -> Response:
        """A page that is the same for everybody and is made once a state.

        Parameters
        ----------
        request : Request
        template : str
        about : str
            What of: a space's or a job's name; one of few.
        context : callable
            Called where the page has to be made.
        """
        self.current.look()
        key: tuple[object, ...] = (template, about, self.current.version)
        made = self._made.get(key)
        if made is None:
            if self.current.worked is None:
                made = self._made_of("wait.html", {})
                return made.response(request, "no-store", 503 if self.current.problem else 200)
            made = self._made_of(template, context())
            self._made[key] = made
            while len(self._made) > _KEPT:
                self._made.popitem(last=False)
        return made.response(request, "private, no-cache")

    def kept_json(self, request: Request, about: str, make: Callable[[], bytes]) -> Response:
        """An answer that is the same for everybody and is written once a state."""
        key = ("json", about, self.current.version)
        made = self._made.get(key)
        if made is None:
            made = self._made[key] = body_of(make(), "application/json")
        return made.response(request, "private, no-cache")

    def form(
        self, request: Request, template: str, context: dict[str, Any], status: int = 200
    ) -> Response:
        """A page for one device: with a token in its forms, never kept."""
        self.current.look()
        session: Session | None = request.scope["state"].get("session")
        fresh = session is None
        session = session or self.keys.begin(known=False)
        text = self._text(template, {**context, "form_token": self.keys.form_token(session)})
        answer = Response(text, status, media_type="text/html; charset=utf-8")
        if fresh:
            set_session(answer, session, self.keys, self.settings)
        return answer

    def static_file(self, request: Request, name: str) -> Response:
        """One of the files there are; nothing is looked up on disk."""
        found = self.static.get(name)
        if found is None:
            return said_plainly(404, "there is no such file")
        return found.response(request, "public, max-age=31536000, immutable")

    def _made_of(self, template: str, context: dict[str, Any]) -> Body:
        return body_of(self._text(template, context).encode(), "text/html; charset=utf-8")

    def _text(self, template: str, context: dict[str, Any]) -> str:
        now = self.current
        worked = now.worked
        shared: dict[str, Any] = {
            "boat": None if worked is None else worked.sheet.boat,
            "sheet": None if worked is None else worked.sheet,
            "problem": now.problem,
            "behind": now.behind,
            "version": now.version,
            "live": False,
            "here": "",
            "form_token": "",
            "error": "",
            "errors": {},
        }
        page = self._environment.get_template(template).render({**shared, **context})
        # In what is read alone: what a form sends back stays as it is.
        return _READ.sub(lambda found: keep_together(found[0]), page)


def _static_files() -> dict[str, Body]:
    """All static files, each under a name that changes with its content: 'page-1a2b3c4d.css'."""
    found = {}
    for file in sorted((HERE / "static").iterdir()):
        content = file.read_bytes()
        mark = hashlib.sha256(content).hexdigest()[:10]
        kind = mimetypes.guess_type(file.name)[0] or "application/octet-stream"
        if kind.startswith("text/") or file.suffix == ".js":
            kind += "; charset=utf-8"
        found[f"{file.stem}-{mark}{file.suffix}"] = body_of(content, kind)
    return found
