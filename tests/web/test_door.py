"""Who may come in: loopback, sign-in, roles, attempts, origin, headers."""

import pytest
from starlette.testclient import TestClient

from bloomless.errors import ImpossibleInput
from bloomless.web import Door, create_app
from bloomless.web.door import SIGN_IN_COOKIE
from bloomless.web.sign_in import set_secret
from services.plain_craft import PlainMaker

PHRASE = "tide under the boathouse"
PAGE = {"accept": "text/html"}


@pytest.fixture
def away(house):
    """A client of a house that listens on the kitchen's network."""
    set_secret(house, "owner", PHRASE)
    set_secret(house, "bench", "246810")
    app = create_app(house, Door("0.0.0.0", 8750, tls=True), PlainMaker())
    with TestClient(app, base_url="https://kitchen.local:8750", follow_redirects=False) as client:
        yield client


def sign_in(client, secret, **more):
    return client.post("/sign-in", data={"secret": secret, **more})


def test_loopback_doors():
    assert all(Door(host).loopback for host in ("127.0.0.1", "localhost", "::1", "127.3.4.5"))
    assert not any(Door(host).loopback for host in ("0.0.0.0", "::", "192.168.1.5", "kitchen.local"))


def test_headers_on_every_answer(client):
    for path in ("/welcome", "/nowhere", "/api/v1/openapi.json"):
        headers = client.get(path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["cache-control"] == "no-store"


def test_static_files_are_kept_for_ever(client):
    page = client.get("/welcome").text
    css = page.split('rel="stylesheet" href="')[1].split('"')[0]
    assert "immutable" in client.get(css).headers["cache-control"]
    assert client.get("/favicon.ico").status_code == 308
    plain, squeezed = (client.get(css, headers={"accept-encoding": how}) for how in ("identity", "gzip"))
    assert plain.content == squeezed.content
    assert ("content-encoding" in plain.headers, squeezed.headers["content-encoding"]) == (False, "gzip")
    assert client.get(css.replace("house.css", "none.css")).status_code == 404
    assert client.get("/static/x/..%2fapp.py").status_code == 404


def test_only_this_machine_has_its_names(client):
    assert client.get("/welcome").status_code == 200
    answer = client.get("/welcome", headers={"host": "trap.example:8750"})
    assert (answer.status_code, answer.json()["code"]) == (403, "wrong_host")


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://trap.example"},
        {"origin": "null"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
)
def test_writes_from_other_pages_are_refused(client, headers):
    answer = client.post("/welcome", data={"language": "en"}, headers=headers)
    assert (answer.status_code, answer.json()["code"]) == (403, "other_origin")


def test_writes_from_our_pages_are_taken(client):
    headers = {"origin": "http://localhost:8750", "sec-fetch-site": "same-origin"}
    answer = client.post(
        "/welcome", data={"language": "de", "temperature": "C", "mass": "g", "country": "CH"}, headers=headers
    )
    assert answer.status_code == 303
    assert client.get("/", headers=PAGE).status_code == 200


def test_too_much_at_once(client):
    answer = client.post("/welcome", content=b"", headers={"content-length": "9000000"})
    assert answer.status_code == 413


def test_away_from_this_machine_everything_asks_for_a_sign_in(away):
    page = away.get("/settings", headers=PAGE)
    assert (page.status_code, page.headers["location"]) == (303, "/sign-in?next=/settings")
    for path in ("/api/v1/openapi.json", "/settings", "/", "/nowhere"):
        answer = away.get(path)
        assert (answer.status_code, answer.json()["code"]) == (401, "sign_in")
        assert answer.headers["content-type"] == "application/problem+json"
    assert away.post("/settings/house", data={"country": "US"}).status_code == 401


def test_pass_phrase_opens_the_book(away):
    answer = sign_in(away, PHRASE, next="/settings", device="laptop")
    assert (answer.status_code, answer.headers["location"]) == (303, "/settings")
    cookie = answer.headers["set-cookie"]
    assert all(word in cookie for word in ("HttpOnly", "Secure", "SameSite=strict"))
    page = away.get("/settings", headers=PAGE)
    assert "laptop" in page.text
    assert away.post("/sign-out").status_code == 303
    assert away.get("/settings").status_code == 401


def test_pin_works_bowls_and_nothing_else(away):
    assert sign_in(away, "246810").status_code == 303
    assert away.get("/", headers=PAGE).status_code == 200
    page = away.get("/settings", headers=PAGE)
    assert "pass_phrase" not in page.text
    assert away.get("/welcome").status_code == 403
    for path, data in [("house", {"country": "US"}), ("secret/owner", {"pass_phrase": "x" * 20, "again": "x" * 20})]:
        answer = away.post(f"/settings/{path}", data=data)
        assert (answer.status_code, answer.json()["code"]) == (403, "bench_only")


@pytest.mark.parametrize("way", ["//trap.example", "https://trap.example", "/\\trap.example"])
def test_after_signing_in_one_stays_in_the_house(away, way):
    assert sign_in(away, PHRASE, next=way).headers["location"] == "/"


def test_a_changed_secret_ends_its_sign_ins(away, house):
    sign_in(away, "246810")
    set_secret(house, "bench", "135791")
    assert away.get("/").status_code == 401


def test_sign_ins_run_out(away, clock):
    sign_in(away, PHRASE)
    clock.pass_(days=13)
    assert away.get("/settings").status_code == 200
    clock.pass_(days=2)
    assert away.get("/settings").status_code == 401


def test_another_device_can_be_signed_out(away, house):
    sign_in(away, "246810", device="tablet")
    tablet = away.cookies[SIGN_IN_COOKIE]
    away.cookies.clear()
    sign_in(away, PHRASE, device="laptop")
    which = next(s.token_hash for s in house.secrets.all(at=house.clock()) if s.device == "tablet")
    assert away.post("/settings/end-sign-in", data={"which": which}).status_code == 303
    away.cookies.clear()
    away.cookies.set(SIGN_IN_COOKIE, tablet)
    assert away.get("/").status_code == 401


def test_attempts_are_counted(away, clock):
    for _ in range(5):
        assert sign_in(away, "wrong phrase here").status_code == 422
    stopped = sign_in(away, PHRASE)
    assert stopped.status_code == 429
    assert int(stopped.headers["retry-after"]) > 60
    answer = away.post("/api/v1/sign-in", json={"secret": PHRASE})
    assert (answer.status_code, answer.json()["code"]) == (429, "too_many_attempts")
    clock.pass_(minutes=11)
    assert sign_in(away, PHRASE).status_code == 303


def test_programs_sign_in_with_a_token(away):
    assert away.post("/api/v1/sign-in", json={"secret": "nobody knows this"}).json()["code"] == "wrong_secret"
    token = away.post("/api/v1/sign-in", json={"secret": PHRASE}).json()["token"]
    away.cookies.clear()
    assert away.get("/api/v1/openapi.json", headers={"authorization": f"Bearer {token}"}).status_code == 200
    assert away.get("/api/v1/openapi.json", headers={"authorization": "Bearer x"}).status_code == 401


@pytest.mark.parametrize(
    ("role", "secret"), [("owner", "short"), ("owner", "123456789012"), ("bench", "12345"), ("bench", "12a456")]
)
def test_secrets_that_are_too_weak(house, role, secret):
    with pytest.raises(ImpossibleInput) as failure:
        set_secret(house, role, secret)
    assert secret not in str(failure.value)


def test_secrets_are_set_on_the_settings_page(client, house):
    page = client.post("/settings/secret/owner", data={"pass_phrase": "short", "again": "short"}, headers=PAGE)
    assert page.status_code == 422
    assert "pass_phrase-wrong" in page.text
    page = client.post("/settings/secret/bench", data={"pin": "246810", "again": "246811"}, headers=PAGE)
    assert page.status_code == 422
    assert client.post("/settings/secret/bench", data={"pin": "246810", "again": "246810"}).status_code == 303
    assert house.secrets.secret("bench").hash.startswith("$argon2id$")
    assert client.post("/settings/secret/bench", data={"drop": "1"}).status_code == 303
    assert house.secrets.secret("bench") is None
