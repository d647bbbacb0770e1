"""Who may do what: names, logins, foreign pages, sizes, paths, and what answers carry.

Each check says what it holds against: the OWASP Application Security Verification Standard 4.0.3
by number where it has one.
"""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from http.cookies import SimpleCookie
from pathlib import Path

import httpx
import pytest
from curewindow_service.page import PageSettings, create_app
from curewindow_service.page.guard import LARGEST_BODY
from curewindow_service.page.render import HERE
from curewindow_service.page.sessions import LASTS_S, PERIOD_S, TRIES, Keys, WrongTries

from curewindow.errors import CurewindowError
from tests.fewer_jobs import only_jobs
from tests.page.hands import TOKEN, Caller, client_of, form_token


@pytest.fixture(scope="module")
def guarded(
    packaged: Path, tmp_path_factory: pytest.TempPathFactory, reader: Caller
) -> Iterator[Caller]:
    """A page on the network behind TLS, with a token; the first computation is not waited for."""
    folder = tmp_path_factory.mktemp("guarded")
    (folder / "boat.toml").write_bytes((packaged / "boat.toml").read_bytes())
    given = {"token": TOKEN, "network": True, "hosts": ("boat.example",), "https": True}
    with client_of(folder, base="https://boat.example", **given) as client:
        yield client


def logged_in(guarded: Caller) -> Caller:
    """A device that has entered the token."""
    device = guarded.another("https://boat.example")
    page = device.get("/login").text
    sent = {"form_token": form_token(page), "token": TOKEN, "next": "/more"}
    answer = device.post("/login", data=sent)
    assert answer.status_code == 303
    assert answer.headers["location"] == "/more"
    return device


@pytest.mark.parametrize(
    "address", ["/", "/log", "/settings", "/sheets", "/why?job=x", "/reminders", "/nothing"]
)
def test_pages_ask_for_the_token(guarded: Caller, address: str) -> None:
    answer = guarded.another("https://boat.example").get(address)
    assert answer.status_code == 303
    assert answer.headers["location"].startswith("/login")


@pytest.mark.parametrize("address", ["/api/today", "/api/readings", "/metrics", "/events"])
def test_programs_are_told_to_bring_the_token(guarded: Caller, address: str) -> None:
    stranger = guarded.another("https://boat.example")
    answer = stranger.get(address)
    assert answer.status_code == 401
    assert answer.headers["www-authenticate"] == "Bearer"
    wrong = stranger.get(address, headers={"authorization": "Bearer something quite else"})
    assert wrong.status_code == 401


def test_the_token_opens_for_programs(guarded: Caller) -> None:
    told = {"authorization": f"Bearer {TOKEN}"}
    answer = guarded.another("https://boat.example").get("/api/sheets", headers=told)
    assert answer.status_code == 200


@pytest.mark.parametrize("address", ["/", "/api/today", "/login", "/health", "/calendar.ics"])
def test_the_token_in_an_address_opens_nothing(guarded: Caller, address: str) -> None:
    """ASVS 8.3.1: no secrets in a query, which servers, histories and proxies write down."""
    answer = guarded.another("https://boat.example").get(address, params={"token": TOKEN})
    assert answer.status_code == 400
    assert "set another token" in answer.text
    assert TOKEN not in answer.text
    assert logged_in(guarded).get(address, params={"anything": TOKEN}).status_code == 400


def test_a_token_over_plain_http_is_warned_of(boat: Path) -> None:
    """On a network without TLS, at the login; not to this machine itself, nor behind TLS."""
    plain = PageSettings(token=TOKEN, network=True)
    assert plain.in_clear
    assert not PageSettings(token=TOKEN, network=True, https=True).in_clear
    assert not PageSettings(token=TOKEN).in_clear
    app = create_app(boat, settings=plain)

    async def asked(address: str) -> str:
        transport = httpx.ASGITransport(app, client=(address, 50123))
        async with httpx.AsyncClient(transport=transport, base_url="http://192.0.2.7") as client:
            return (await client.get("/login")).text

    assert "speaks plain http" in asyncio.run(asked("192.0.2.33"))
    assert "speaks plain http" not in asyncio.run(asked("127.0.0.1"))


def test_health_needs_no_token_and_tells_nothing(guarded: Caller) -> None:
    answer = guarded.another("https://boat.example").get("/health")
    assert set(answer.json()) == {"status"}


def test_the_cookie_is_kept_to_this_host(guarded: Caller) -> None:
    """ASVS 3.4.1 to 3.4.5: Secure, HttpOnly, SameSite, the __Host- prefix, path /."""
    device = guarded.another("https://boat.example")
    page = device.get("/login")
    for answer in (
        page,
        device.post("/login", data={"form_token": form_token(page.text), "token": TOKEN}),
    ):
        (name, morsel), *others = SimpleCookie(answer.headers["set-cookie"]).items()
        assert not others
        assert name == "__Host-curewindow"
        assert morsel["secure"]
        assert morsel["httponly"]
        assert morsel["samesite"] == "lax"
        assert morsel["path"] == "/"
        assert not morsel["domain"]
        assert TOKEN not in morsel.value


def test_a_login_is_a_new_session_and_ends(guarded: Caller) -> None:
    """ASVS 3.2.1 and 3.3.1."""
    device = guarded.another("https://boat.example")
    page = device.get("/login")
    before = device.cookies["__Host-curewindow"]
    device.post("/login", data={"form_token": form_token(page.text), "token": TOKEN})
    kept = device.cookies["__Host-curewindow"]
    assert kept.split(".")[0] != before.split(".")[0]
    more = device.get("/more")
    assert more.status_code == 200
    assert device.post("/logout", data={"form_token": form_token(more.text)}).status_code == 303
    thief = guarded.another("https://boat.example")
    answer = thief.get("/more", headers={"cookie": f"__Host-curewindow={kept}"})
    assert answer.status_code == 303  # the cookie is worth nothing after logging out


def test_cookies_cannot_be_made_or_kept_for_ever() -> None:
    now = [1_000_000.0]
    keys = Keys(TOKEN, lambda: now[0])
    session = keys.begin(known=False)
    cookie = keys.written(session)
    assert keys.read(cookie) == session
    body, mac = cookie.rsplit(".", 1)
    assert keys.read(f"{body[:-1]}1.{mac}") is None  # 'not known' turned into 'known'
    assert keys.read(body) is None
    assert keys.read("") is None
    assert keys.read("ü.1.1.ü") is None
    assert Keys("another token, as long", lambda: now[0]).read(cookie) is None
    now[0] += LASTS_S + 1
    assert keys.read(cookie) is None


def test_wrong_tokens_have_to_wait(guarded: Caller) -> None:
    """ASVS 2.2.1. The right token waits as well: an answer would tell a guesser it was right."""
    site = guarded.app.state.site
    device = guarded.another("https://boat.example")
    page = device.get("/login").text
    sent = {"form_token": form_token(page), "token": "wrong"}
    try:
        statuses = [device.post("/login", data=sent).status_code for _ in range(TRIES + 1)]
        assert statuses == [403] * TRIES + [429]
        answer = device.post("/login", data={**sent, "token": TOKEN})
        assert answer.status_code == 429
        assert 0 < int(answer.headers["retry-after"]) <= PERIOD_S + 1
        told = {"authorization": f"Bearer {TOKEN}"}
        assert device.get("/api/sheets", headers=told).status_code == 429
    finally:
        site.tries._by_address.clear()
        site.tries._all.clear()


def test_waiting_ends_and_counts_each_address() -> None:
    now = [0.0]
    tries = WrongTries(lambda: now[0])
    for _ in range(TRIES):
        tries.wrong("a")
    assert tries.wait_s("a") > 0
    assert tries.wait_s("b") == 0
    now[0] = PERIOD_S + 1
    assert tries.wait_s("a") == 0
    for number in range(200):
        tries.wrong(f"address {number}")  # one guess each from many
    assert tries.wait_s("b") > 0


@pytest.mark.parametrize(
    "address", ["//evil.example", "https://evil.example", "/\\evil.example", "x"]
)
def test_login_leads_nowhere_else(guarded: Caller, address: str) -> None:
    """ASVS 5.1.5."""
    device = guarded.another("https://boat.example")
    page = device.get("/login", params={"next": address}).text
    assert 'name="next" value="/"' in page
    sent = {"form_token": form_token(page), "token": TOKEN, "next": address}
    assert device.post("/login", data=sent).headers["location"] == "/"


def test_forms_of_other_pages_do_nothing(writer: Caller) -> None:
    """ASVS 4.2.2: a form token of this session, and requests of other sites refused."""
    form = writer.get("/log/reading?space=saloon").text
    sent = {"space": "saloon", "air": "12"}
    other = writer.another()
    theirs = form_token(other.get("/log/reading?space=saloon").text)
    before = len(writer.get("/api/readings?last=1000").json()["readings"])
    for wrong in ({}, {"form_token": ""}, {"form_token": "ü"}, {"form_token": theirs}):
        answer = writer.post("/log/reading", data={**sent, **wrong})
        assert answer.status_code == 422
        assert "open for too long" in answer.text
    right = {**sent, "form_token": form_token(form)}
    for headers in (
        {"origin": "https://evil.example"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:8000"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ):
        assert writer.post("/log/reading", data=right, headers=headers).status_code == 403
        answer = writer.post(
            "/api/readings", json={"space": "saloon", "air_c": 12}, headers=headers
        )
        assert answer.status_code == 403
    # what a form elsewhere can send without being asked is not taken for JSON
    for kind in ("text/plain", "application/x-www-form-urlencoded", "multipart/form-data"):
        content = b'{"space": "saloon", "air_c": 12}'
        headers = {"content-type": kind}
        answer = writer.post("/api/readings", content=content, headers=headers)
        assert answer.status_code == 415
    assert len(writer.get("/api/readings?last=1000").json()["readings"]) == before
    own = {"origin": "http://127.0.0.1", "sec-fetch-site": "same-origin"}
    assert writer.post("/log/reading", data=right, headers=own).status_code == 303


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1.evil.example", "", "boat.example"])
def test_only_under_its_own_names(reader: Caller, host: str) -> None:
    """Against DNS rebinding: a name out of other hands that points here."""
    assert reader.get("/api/today", headers={"host": host}).status_code == 400


def test_own_names(reader: Caller, guarded: Caller) -> None:
    for host in ("localhost:8000", "127.0.0.1:1", "[::1]:80"):
        assert reader.get("/health", headers={"host": host}).status_code == 200
    assert reader.get("/health", headers={"host": "192.0.2.7"}).status_code == 400
    for host in ("boat.example", "BOAT.example.:443", "192.0.2.7:8000"):
        assert guarded.get("/login", headers={"host": host}).status_code == 200


def test_every_answer_carries_the_headers(reader: Caller) -> None:
    """ASVS 14.4.3 to 14.4.7."""
    for address in ("/", "/log", "/api/today", "/nothing", "/health", "/static/nothing"):
        headers = reader.get(address).headers
        policy = headers["content-security-policy"]
        rules = dict(rule.split(" ", 1) for rule in policy.split("; "))
        assert rules["default-src"] == "'none'"
        assert rules["script-src"] == rules["style-src"] == rules["form-action"] == "'self'"
        assert rules["frame-ancestors"] == rules["base-uri"] == "'none'"
        assert "unsafe" not in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "same-origin"
    assert reader.get("/log").headers["cache-control"] == "no-store"
    assert "access-control-allow-origin" not in reader.get("/api/today").headers


def test_nothing_inline_and_nothing_from_elsewhere() -> None:
    """What the policy would refuse is not there to begin with; the page works with no network."""
    for file in (HERE / "templates").iterdir():
        text = file.read_text("utf-8")
        assert "style=" not in text, file.name
        assert "<style" not in text, file.name
        assert "onclick" not in text, file.name
        assert "//" not in text.replace("{#", ""), file.name
        assert text.count("<script") == text.count("<script src="), file.name
    for file in (HERE / "static").iterdir():
        text = file.read_text("utf-8").replace("http://www.w3.org/2000/svg", "")
        assert "http" not in text, file.name
        assert "url(" not in text, file.name


def test_too_much_is_refused(reader: Caller) -> None:
    big = b"x" * (LARGEST_BODY + 1)
    for address, kind in (
        ("/log/reading", "application/x-www-form-urlencoded"),
        ("/api/readings", "application/json"),
    ):
        headers = {"content-type": kind}
        assert reader.post(address, content=big, headers=headers).status_code == 413

        async def pieces() -> object:  # no length said
            for _ in range(80):
                yield b"x" * 1024

        assert reader.post(address, content=pieces(), headers=headers).status_code == 413
    for length in ("-1", "²", "1e9", "99999999999999999999"):
        answer = reader.post("/log/undo", headers={"content-length": length.encode("latin-1")})
        assert answer.status_code == 413


@pytest.mark.parametrize(
    "name",
    [
        "../boat.toml",
        "..%2Fboat.toml",
        "%2e%2e/%2e%2e/etc/passwd",
        "....//boat.toml",
        "/etc/passwd",
        "..\\boat.toml",
        "boat.toml%00",
        "page.css",
    ],
)
def test_no_file_but_its_own(reader: Caller, name: str) -> None:
    """ASVS 12.3.1."""
    addresses = [f"/static/{name}", f"/sheet?name={name}", f"/api/sheets/{name}", f"/{name}"]
    for address in addresses:
        answer = reader.get(address)
        assert answer.status_code in (404, 422), (address, answer.status_code)
        assert "root:" not in answer.text
        assert "latitude" not in answer.text


def test_names_with_marks_are_shown_as_text(boat: Path) -> None:
    """ASVS 5.3.3: what the owner or a program writes is never part of the page."""
    evil = "<script>alert(1)</script>"
    only_jobs(boat, "wet locker slats")
    work = (boat / "work.toml").read_text("utf-8")
    (boat / "work.toml").write_text(
        work.replace("wet locker slats", f"{evil} '&\\\" table"), "utf-8"
    )
    (boat / "boat.toml").write_text(
        (boat / "boat.toml").read_text("utf-8").replace("Slow Kettle", f"{evil}"), "utf-8"
    )
    with client_of(boat) as client:
        new = {"space": "saloon", "air_c": 12, "note": evil, "by_hand": True}
        assert client.post("/api/readings", json=new).status_code == 201
        for address in ("/", "/jobs", "/space?name=saloon", "/log", "/settings", "/more"):
            answer = client.get(address)
            assert answer.status_code == 200, address
            assert "<script>" not in answer.text, address
            assert "&lt;script&gt;" in answer.text, address
        asked = client.get("/job", params={"name": evil})
        assert asked.status_code == 404
        assert "<script>" not in asked.text


def test_a_calendar_has_a_key_of_its_own(guarded: Caller) -> None:
    """It opens the calendar and nothing else, and does not give the token away."""
    keys = guarded.app.state.site.keys
    key = keys.calendar_key()
    assert key is not None
    assert TOKEN not in key
    stranger = guarded.another("https://boat.example")
    assert stranger.get("/calendar.ics").status_code == 401
    assert stranger.get("/calendar.ics?key=wrong").status_code == 401
    assert stranger.get(f"/calendar.ics?key={key}").status_code != 401
    assert stranger.get(f"/api/today?key={key}").status_code == 401


def test_secrets_are_not_shown(guarded: Caller, boat: Path) -> None:
    device = logged_in(guarded)
    for address in ("/settings", "/more", "/", "/api/openapi.json", "/metrics", "/login"):
        assert TOKEN not in device.get(address).text
    assert TOKEN not in repr(guarded.app.state.site.settings)
    text = (boat / "boat.toml").read_text("utf-8")
    ways = '[[channel]]\nname = "mail"\naddress = "mailto://someone@example.org"\n'
    (boat / "boat.toml").write_text(f"{text}\n{ways}", "utf-8")
    with client_of(boat, work=lambda *_: guarded.app.state.site.current.worked) as client:
        page = client.get("/settings").text
        assert "mail: low and above" in page
        assert "someone@example.org" not in page


def test_unsafe_settings_are_refused() -> None:
    with pytest.raises(CurewindowError, match="set a token first"):
        PageSettings(network=True)
    with pytest.raises(CurewindowError, match="too short"):
        PageSettings(token="1234")


def test_a_stranger_cannot_write(guarded: Caller) -> None:
    stranger = guarded.another("https://boat.example")
    page: httpx.Response = stranger.get("/login")
    sent = {"form_token": form_token(page.text), "space": "saloon", "air": "12"}
    answer = stranger.post("/log/reading", data=sent)
    assert answer.status_code == 303
    assert answer.headers["location"] == "/login"
    answer = stranger.post("/api/readings", json={"space": "saloon", "air_c": 12})
    assert answer.status_code == 401
