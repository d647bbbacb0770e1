"""The door: names, sizes, logins, foreign pages, and the headers every answer carries."""

from __future__ import annotations

import json
from collections.abc import Callable
from http.cookies import CookieError, SimpleCookie
from urllib.parse import parse_qs, quote

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from curewindow_service.page.sessions import Keys, Session, WrongTries
from curewindow_service.page.settings import PageSettings, may_be_called

LARGEST_BODY = 64 * 1024
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
    "connect-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'"
)
_HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    # 'no-referrer' would take the origin off our own forms as well
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=()",
}
_OPEN = ("/static/", "/login", "/health", "/favicon.ico")
_SAFE = ("GET", "HEAD", "OPTIONS")


def cookie_name(settings: PageSettings) -> str:
    """Behind TLS with the prefix that makes browsers keep it to this very host."""
    return "__Host-curewindow" if settings.https else "curewindow"


def set_session(response: Response, session: Session, keys: Keys, settings: PageSettings) -> None:
    """Give the browser its session."""
    from curewindow_service.page.sessions import LASTS_S

    response.set_cookie(
        cookie_name(settings),
        keys.written(session),
        max_age=LASTS_S if session.known else None,
        httponly=True,
        samesite="lax",  # 'strict' would ask for the token after every link from a notice
        secure=settings.https,
        path="/",
    )


def problem(status: int, title: str, **more: object) -> Response:
    """What is wrong, for programs: RFC 9457."""
    body = {"type": "about:blank", "title": title, "status": status, **more}
    return Response(
        json.dumps(body, ensure_ascii=False), status, media_type="application/problem+json"
    )


def said_plainly(status: int, text: str) -> Response:
    """What is wrong, for people, where there is no page to say it on."""
    return Response(f"{text}\n", status, media_type="text/plain; charset=utf-8")


class Guard:
    """ASGI middleware in front of everything.

    Parameters
    ----------
    app : ASGIApp
        What is guarded.
    settings : PageSettings
    keys : Keys
    tries : WrongTries
        Wrong tokens by ``Authorization`` count as wrong logins do.
    """

    def __init__(
        self, app: ASGIApp, *, settings: PageSettings, keys: Keys, tries: WrongTries
    ) -> None:
        self.app = app
        self.settings = settings
        self.keys = keys
        self.tries = tries

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let it through, or answer in its place."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        scope.setdefault("state", {})
        session = self.keys.read(_cookie(headers, cookie_name(self.settings)))
        scope["state"]["session"] = session
        refused = self._refused(scope, headers, session)
        sending = _with_headers(send)
        if refused is not None:
            await refused(scope, receive, sending)
            return
        await self.app(scope, _limited(receive), sending)

    def _refused(self, scope: Scope, headers: Headers, session: Session | None) -> Response | None:
        path, for_programs = scope["path"], scope["path"].startswith("/api")

        def no(status: int, text: str, **more: object) -> Response:
            return problem(status, text, **more) if for_programs else said_plainly(status, text)

        hosts = headers.getlist("host")
        if len(hosts) != 1 or not may_be_called(_host_only(hosts[0]), self.settings):
            return no(400, "this page does not go by that name")
        length = headers.get("content-length", "0")
        if not (length.isascii() and length.isdigit() and len(length) < 10) or (
            int(length) > LARGEST_BODY
        ):
            return no(413, f"at most {LARGEST_BODY // 1024} kB are taken")
        if scope["method"] not in _SAFE:
            foreign = self._foreign(headers, hosts[0])
            if foreign:
                return no(403, foreign)
            kind = headers.get("content-type", "").partition(";")[0].strip().lower()
            if for_programs and kind != "application/json":
                # what a page elsewhere could send without asking is never JSON
                return no(415, "send it as application/json")
        if self.keys.token is None:
            return None
        if self._token_in_address(scope):
            return no(
                400,
                "the page's token stands in that address, where logs and histories keep it: "
                "set another token, and bring it by the login or by Authorization",
            )
        if path.startswith(_OPEN):
            return None
        return self._unknown(scope, headers, session, no)

    def _token_in_address(self, scope: Scope) -> bool:
        """Anywhere in a query: whoever wrote it there is told to change it."""
        query = parse_qs(scope.get("query_string", b"").decode("latin-1"))
        return any(self.keys.is_token(value) for values in query.values() for value in values)

    def _foreign(self, headers: Headers, host: str) -> str:
        """Why a request that changes something is not from our own page; '' where it is."""
        site = headers.get("sec-fetch-site")
        if site is not None and site not in ("same-origin", "none"):
            return "that came from another site"
        origin = headers.get("origin")
        if origin is not None and origin.partition("://")[2].lower() != host.lower():
            return "that came from another site"
        return ""

    def _unknown(
        self,
        scope: Scope,
        headers: Headers,
        session: Session | None,
        no: Callable[..., Response],
    ) -> Response | None:
        """What somebody is told who has not entered the token; None where it was."""
        if session is not None and session.known:
            return None
        path, address = scope["path"], address_of(scope)
        query = parse_qs(scope.get("query_string", b"").decode("latin-1"))
        if path == "/calendar.ics" and self.keys.is_calendar_key(query.get("key", [""])[0]):
            return None
        kind, _, given = headers.get("authorization", "").partition(" ")
        if kind.lower() == "bearer" and given:
            wait_s = self.tries.wait_s(address)
            if wait_s:
                answer = no(429, f"too many wrong tokens: try again in {wait_s} s")
                answer.headers["retry-after"] = str(wait_s)
                return answer
            if self.keys.is_token(given):
                return None
            self.tries.wrong(address)
        if path.startswith("/api") or path in ("/metrics", "/events", "/calendar.ics"):
            answer = no(401, "the page's token is asked for: Authorization: Bearer TOKEN")
            answer.headers["www-authenticate"] = "Bearer"
            return answer
        if scope["method"] not in _SAFE:
            return RedirectResponse("/login", 303)
        raw = scope.get("query_string", b"").decode("latin-1")
        back = path + (f"?{raw}" if raw else "")
        return RedirectResponse(
            "/login" if back == "/" else f"/login?next={quote(back, safe='')}", 303
        )


def address_of(scope: Scope) -> str:
    """Where a request comes from."""
    client = scope.get("client")
    return str(client[0]) if client else "?"


def _host_only(host: str) -> str:
    """A Host header without its port."""
    if host.startswith("["):
        return host.partition("]")[0] + "]"
    return host.partition(":")[0]


def _cookie(headers: Headers, name: str) -> str | None:
    try:
        found = SimpleCookie(headers.get("cookie", "")).get(name)
    except CookieError:
        return None
    return None if found is None else found.value


def _with_headers(send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in _HEADERS.items():
                headers[name] = value
            if "cache-control" not in headers:
                headers["cache-control"] = "no-store"
        await send(message)

    return sending


def _limited(receive: Receive) -> Receive:
    """A body that says no length is cut off at the same size."""
    taken = 0

    async def receiving() -> Message:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        if taken > LARGEST_BODY:
            raise HTTPException(413, f"at most {LARGEST_BODY // 1024} kB are taken")
        return message

    return receiving
