"""Who is let in, what every answer carries, and that no path of a request reaches the disk."""

from __future__ import annotations

from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from halfshaft.errors import HalfshaftError
from halfshaft.records.database import open_database
from halfshaft.records.people import create_account
from halfshaft.web.serve import is_loopback, refuse_unless_safe
from store import clock, url_of
from support import halfshaft


@pytest.mark.parametrize(
    "path", ["/c/TERN/car", "/api/conversions", "/static/app.js", "/nowhere", "/api/conversions/TERN/drawings/views.svg"]
)
def test_every_answer_carries_the_headers(client: TestClient, path: str) -> None:
    headers = client.get(path).headers
    policy = dict(part.strip().split(" ", 1) for part in headers["content-security-policy"].split(";"))
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == policy["style-src"] == "'self'"
    assert "unsafe" not in headers["content-security-policy"]
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["x-frame-options"] == "DENY"
    assert headers["referrer-policy"] == "no-referrer"


@pytest.mark.parametrize(
    "host", ["evil.example", "evil.example:8460", "127.0.0.1.evil.example", "192.168.1.4:8460", "[2001:db8::1]:8460", ""]
)
def test_another_name_for_this_computer_is_refused(client: TestClient, host: str) -> None:
    answer = client.get("/c/TERN/car", headers={"host": host})
    assert answer.status_code == 403
    assert "Aldwick" not in answer.text


@pytest.mark.parametrize("host", ["localhost:8460", "127.0.0.1:8460", "[::1]:8460"])
def test_its_own_names_are_taken(client: TestClient, host: str) -> None:
    assert client.get("/c/TERN/wires", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [{"origin": "http://evil.example"}, {"origin": "null"}, {"sec-fetch-site": "cross-site"}, {"origin": "http://127.0.0.1:9999"}],
)
def test_a_form_of_another_site_does_nothing(empty: TestClient, headers: dict[str, str]) -> None:
    assert empty.post("/api/conversions/demo", headers=headers).status_code == 403
    assert empty.get("/api/conversions").json() == []


def test_a_form_of_its_own_page_is_taken(empty: TestClient) -> None:
    own = {"origin": "http://127.0.0.1:8460", "sec-fetch-site": "same-origin"}
    assert empty.post("/api/conversions/demo", headers=own).status_code == 201


@pytest.mark.parametrize(
    "path",
    ["/static/../app.py", "/static/%2e%2e/app.py", "/static/..%2fapp.py", "/static//etc/passwd", "/static/vendor/.ok", "/static/", "/api/conversions/TERN/drawings/..%2f..%2fapp.svg", "/api/conversions/TERN/books/x/..%2f..%2fetc%2fpasswd"],
)  # fmt: skip
def test_no_path_reaches_the_disk(client: TestClient, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code in (403, 404)
    assert "import" not in answer.text
    assert "root:" not in answer.text


def test_files_of_pages_are_asked_for_once(client: TestClient) -> None:
    first = client.get("/static/app.css", headers={"accept-encoding": "gzip"})
    assert first.headers["content-encoding"] == "gzip"
    again = client.get("/static/app.css", headers={"if-none-match": first.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")


def test_what_is_sent_is_bounded_and_must_be_a_conversion(empty: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    assert empty.post("/api/conversions", content=b"not a zip").status_code == 400
    monkeypatch.setattr("halfshaft.web.uploads.MAX_UPLOAD_BYTES", 1000)
    answer = empty.post("/api/conversions", content=b"x" * 2000)
    assert answer.status_code == 400
    assert "no conversion is" in answer.json()["wrong"]
    assert empty.get("/api/conversions").json() == []


@pytest.mark.parametrize(("host", "is_own"), [("127.0.0.1", True), ("127.8.8.8", True), ("::1", True), ("localhost", True), ("0.0.0.0", False), ("192.168.1.4", False), ("::", False), ("shop.example", False)])  # fmt: skip
def test_others_may_come_in_only_when_somebody_may_run_the_shop(host: str, is_own: bool, tmp_path: Path) -> None:
    assert is_loopback(host) is is_own
    db = open_database(url_of(tmp_path / "x.db"))
    create_account(db, "L. M.", "correct horse battery", "design", at=clock())
    if is_own:
        refuse_unless_safe(host, db)
    else:
        with pytest.raises(HalfshaftError, match="halfshaft account NAME --role run"):
            refuse_unless_safe(host, db)
        create_account(db, "K. B.", "correct horse battery", "run", at=clock())
        refuse_unless_safe(host, db)
    db.close()


def test_serve_refuses_to_answer_to_others_and_says_how_to_make_an_account(tmp_path: Path) -> None:
    where = ("--database", f"sqlite:///{tmp_path / 'x.db'}")
    done = halfshaft("serve", "--host", "0.0.0.0", *where)
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert "halfshaft account NAME --role run" in done.stderr
    made = halfshaft("account", "K. B.", "--role", "run", "--password", "correct horse battery", *where)
    assert (made.returncode, made.stdout) == (0, "K. B. may run\n")


def test_nothing_that_a_page_loads_names_an_address_elsewhere() -> None:
    """No internet at run time: pages, styles and our own scripts name nothing but this app. The one `http` is a name of XML."""
    web = Path(__file__).parents[2] / "src" / "halfshaft" / "web"
    for path in [*web.glob("templates/*.html"), *web.glob("static/*")]:
        if path.is_file():
            text = path.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
            assert "http:" not in text, path
            assert "https:" not in text, path
