"""Logging a device in by the page's token, and out."""

from __future__ import annotations

import re

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from curewindow_service.page.forms import read_form
from curewindow_service.page.guard import address_of, cookie_name, set_session
from curewindow_service.page.settings import IN_CLEAR, is_loopback
from curewindow_service.page.site import Site, site_of

router = APIRouter(include_in_schema=False)
_HERE = re.compile(r"^/(?![/\\])[^\x00-\x20\\]*$")


def _back(given: str) -> str:
    """Where to go afterwards: on this page, never elsewhere."""
    return given if _HERE.match(given) else "/"


@router.get("/login")
async def login_form(request: Request, next: str = "/") -> Response:
    """Ask for the token."""
    site = site_of(request)
    if site.settings.token is None:
        return RedirectResponse("/", 303)
    return _asked(request, site, _back(next), "", 200)


def _asked(request: Request, site: Site, back: str, error: str, status: int) -> Response:
    """The form; over plain http it says what that means, but not to this very machine."""
    local = is_loopback(address_of(request.scope))
    clear = IN_CLEAR if site.settings.in_clear and not local else ""
    context = {"next": back, "error": error, "in_clear": clear}
    return site.pages.form(request, "login.html", context, status)


@router.post("/login")
async def login(request: Request) -> Response:
    """Let a device in that knows the token."""
    site = site_of(request)
    form = await read_form(request, site)
    back, address = _back(form.text("next")), address_of(request.scope)
    wait_s = site.tries.wait_s(address)
    if wait_s:
        text = f"too many wrong tries: wait {max(round(wait_s / 60), 1)} min"
        answer = _asked(request, site, back, text, 429)
        answer.headers["retry-after"] = str(wait_s)
        return answer
    if form.errors:
        return _asked(request, site, back, form.errors[""], 409)
    if not site.keys.is_token(form.text("token")):
        site.tries.wrong(address)
        site.figures.wrong_logins.inc()
        return _asked(request, site, back, "that is not the token", 403)
    site.tries.right(address)
    gone = RedirectResponse(back, 303)
    # a new session: one that somebody else may have planted is left behind
    set_session(gone, site.keys.begin(known=True), site.keys, site.settings)
    return gone


@router.post("/logout")
async def logout(request: Request) -> Response:
    """Forget this device."""
    site = site_of(request)
    form = await read_form(request, site)
    session = request.scope["state"].get("session")
    gone = RedirectResponse("/login", 303)
    if not form.errors and session is not None:
        site.keys.end(session)
        gone.delete_cookie(
            cookie_name(site.settings),
            path="/",
            secure=site.settings.https,
            httponly=True,
            samesite="lax",
        )
    return gone
