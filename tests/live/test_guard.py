"""Only the browser that was given the key, from our own page, on this machine."""

from __future__ import annotations

import pytest
from asgi import HOST, Browser

from rationlp.live.guard import MOST_BYTES


def test_the_first_key_is_good_once(browser: Browser) -> None:
    """It is exchanged for a cookie that no script and no other site gets; a second time is 403."""
    first = browser.get(f"/?key={browser.keys.first}", cookie="")
    assert first.status == 303
    cookie = first.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    again = browser.get(f"/?key={browser.keys.first}", cookie="")
    assert again.status == 403
    assert again.headers["content-type"].startswith("text/plain")
    assert b"lets one browser in, once" in again.body
    assert browser.get("/?key=wrong", cookie="").status == 403
    back = browser.get(f"/?key={browser.keys.first}")
    assert (back.status, back.headers["location"]) == (303, "/")


@pytest.mark.parametrize(
    "headers",
    [
        {"host": "evil.example"},
        {"host": "127.0.0.1:1"},
        {"host": ""},
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": f"https://{HOST}"},
        {"sec_fetch_site": "cross-site"},
        {"cookie": ""},
        {"cookie": "rationlp-key=stolen"},
        {"cookie": "\x01;;=;"},
    ],
)
def test_what_is_not_our_page_gets_403(browser: Browser, headers: dict[str, str]) -> None:
    """Reading and writing both; nothing of the farm is told."""
    for answer in (
        browser.get("/api/state", **headers),
        browser.post("/api/save", {}, **headers),
    ):
        assert answer.status == 403
        assert b"farm" not in answer.body.replace(b"`rationlp open`", b"")


def test_our_own_origin_is_let_in(browser: Browser) -> None:
    """The page itself sends where it comes from."""
    answer = browser.get("/api/state", origin=f"http://{HOST}", sec_fetch_site="same-origin")
    assert answer.status == 200
    assert "default-src 'self'" in answer.headers["content-security-policy"]
    assert "unsafe" not in answer.headers["content-security-policy"]
    assert answer.headers["x-content-type-options"] == "nosniff"


def test_too_much_other_methods_and_other_content_are_refused(browser: Browser) -> None:
    """Before anything is read."""
    assert browser.post("/api/edits", {}, content_length=str(MOST_BYTES + 1)).status == 413
    assert browser.post("/api/edits", {}, content_length="much").status == 413
    assert browser.post("/api/edits", {}, content_type="text/plain").status == 415
    longer = b"x" * (MOST_BYTES + 1)
    heads = {"content-type": "application/json", "content-length": "10"}
    assert browser._ask("POST", "/api/edits", longer, heads).status == 422
    assert browser._ask("DELETE", "/api/state", b"", {}).status == 405


@pytest.mark.parametrize(
    "path",
    ["/page/../live/app.py", "/page/%2e%2e/app.py", "/page/live/app.py", "/page/x/y/z", "/page/.",
     "/page//etc/passwd", "/api/places/..", "/etc/passwd", "/page/../app.py"],
)  # fmt: skip
def test_no_path_leads_out_of_the_page(browser: Browser, path: str) -> None:
    """Names only, among those there are."""
    assert browser.get(path).status in (403, 404)


def test_the_bare_address_says_in_words_what_is_missing(browser: Browser) -> None:
    """Who types the address without its key reads a sentence; nothing of the farm is told."""
    answer = browser.get("/", cookie="")
    assert answer.status == 403
    assert answer.body == b"no key: open the address that the program printed"
