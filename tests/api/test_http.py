"""The HTTP interface over a real service with a stand-in for the analysis."""

import csv
import json
import socket
import zipfile
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import httpx
import openpyxl
import pytest

from api import upload
from tests.api.serving import MOST_BYTES, Server, serving
from tests.worker.object_store import STORES, store_url
from tests.worker.processes import wait_until
from worker.registry import Scope

over_both_stores = pytest.mark.parametrize("own_server", STORES, indirect=True)


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """Serve one service for all tests that do not count its jobs or make tokens."""
    yield from serving(tmp_path_factory.mktemp("service"))


@pytest.fixture
def own_server(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Server]:
    """Serve one service for this test alone."""
    yield from serving(tmp_path, store=store_url(request) if hasattr(request, "param") else None)


def problem(response: httpx.Response, status: int) -> str:
    """Check that the answer is a problem document of that status, and return its detail."""
    assert response.status_code == status, response.text
    assert response.headers["content-type"] == "application/problem+json"
    content = response.json()
    assert content["status"] == status
    assert content["title"]
    return str(content["detail"])


def test_a_model_is_sent_in_and_its_report_got(server: Server) -> None:
    """201 with the job; the terms are kept; the report is there when the job is done."""
    sent = server.send("fine 1", quantity=7, due="2027-01-31", customer="order 7", priority=1)
    assert sent.status_code == 201
    (job,) = sent.json()["jobs"]
    done = server.ended(job["id"])
    assert (done["state"], done["status"], done["quantity"], done["customer"]) == ("done", "complete", 7, "order 7")


def test_an_archive_is_one_job_for_each_model(server: Server) -> None:
    """Each job names its member."""
    buffer = BytesIO()
    with zipfile.ZipFile(buffer, "w") as file:
        file.writestr("a/x.step", "fine x")
        file.writestr("b.stp", "fine b")
    sent = server.client.post("/api/jobs", params={"file_name": "order.zip"}, content=buffer.getvalue())
    assert [each["member"] for each in sent.json()["jobs"]] == ["a/x.step", "b.stp"]


def test_an_idempotency_key_makes_no_second_job(server: Server) -> None:
    """The same job comes back."""
    query = {"file_name": "a.step"}
    first, second = (
        server.client.post("/api/jobs", params=query, content=b"fine k", headers={"Idempotency-Key": "k1"}).json()
        for _ in range(2)
    )
    assert first["jobs"][0]["id"] == second["jobs"][0]["id"]


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ({}, "query.file_name"),
        ({"file_name": ""}, "query.file_name"),
        ({"file_name": "a\x00b"}, "query.file_name"),
        ({"file_name": "a.step", "quantity": "0"}, "query.quantity"),
        ({"file_name": "a.step", "due": "2027-13-01"}, "query.due"),
        ({"file_name": "a.step", "material": "unobtainium"}, "unobtainium"),
        ({"file_name": "a.step", "shop": "nobody's"}, "nobody's"),
    ],
)
def test_wrong_terms_are_refused(server: Server, query: dict[str, str], said: str) -> None:
    """422 names what was wrong; no job is made."""
    before = sum(server.service.ledger.counts().values())
    assert said in problem(server.client.post("/api/jobs", params=query, content=b"fine"), 422)
    assert sum(server.service.ledger.counts().values()) == before


@pytest.mark.parametrize("announced", [True, False])
def test_a_body_that_is_too_large_is_refused(server: Server, announced: bool) -> None:
    """413, whether the sender says how much will come or not; nothing is kept of it."""
    body = b"x" * (MOST_BYTES + 1)
    content: Any = body if announced else iter([body[:50_000], body[50_000:]])
    response = server.client.post("/api/jobs", params={"file_name": "a.step"}, content=content)
    problem(response, 413)
    assert list((server.service.state.folder / "incoming").iterdir()) == []


def test_a_dawdling_sender_is_hung_up_on(server: Server, monkeypatch: pytest.MonkeyPatch) -> None:
    """A sender that is silent for too long gets 408; nothing is kept of what it sent."""
    monkeypatch.setattr(upload, "PIECE_S", 0.3)
    head = "POST /api/jobs?file_name=a.step HTTP/1.1\r\nHost: localhost\r\nContent-Length: 100\r\n\r\nfine"
    with socket.create_connection(("127.0.0.1", server.port), 10) as line:
        line.sendall(head.encode())
        assert line.recv(1000).startswith(b"HTTP/1.1 408 ")
    assert list((server.service.state.folder / "incoming").iterdir()) == []


def test_a_sender_that_hangs_up_leaves_nothing(server: Server) -> None:
    """Half a body makes no job."""
    head = "POST /api/jobs?file_name=a.step HTTP/1.1\r\nHost: localhost\r\nContent-Length: 100\r\n\r\nhalf a body"
    with socket.create_connection(("127.0.0.1", server.port), 10) as line:
        line.sendall(head.encode())
        incoming = server.service.state.folder / "incoming"
        wait_until("it arrives", lambda: any(incoming.iterdir()))
    wait_until("it is removed", lambda: not any(incoming.iterdir()))


def test_the_list_is_filtered_sorted_and_paged(own_server: Server) -> None:
    """Pages follow one another by their cursor; a made-up one is refused."""
    for number in range(7):
        own_server.send(f"fine {number}", f"part {number % 2}.step", due=f"2027-01-{9 - number:02}")
    query: dict[str, Any] = {"sort": "due", "limit": 3, "name": "PART 0"}
    first = own_server.client.get("/api/jobs", params=query).json()
    second = own_server.client.get("/api/jobs", params={**query, "cursor": first["next_cursor"]}).json()
    assert [each["due"][-2:] for each in first["jobs"] + second["jobs"]] == ["03", "05", "07", "09"]
    assert second["next_cursor"] is None
    problem(own_server.client.get("/api/jobs", params={"cursor": "made up"}), 422)
    problem(own_server.client.get("/api/jobs", params={"limit": "501"}), 422)


@over_both_stores
def test_cancel_remove_and_again(own_server: Server) -> None:
    """A running job is stopped; an ended one cannot be; a struck one is gone with its file and result."""
    hanging = own_server.send("hang").json()["jobs"][0]["id"]
    wait_until("running", lambda: own_server.job(hanging)["state"] == "running")
    assert own_server.client.post(f"/api/jobs/{hanging}/cancel").json()["state"] == "cancelled"
    problem(own_server.client.post(f"/api/jobs/{hanging}/cancel"), 409)

    fine = own_server.send("fine").json()["jobs"][0]["id"]
    done = own_server.ended(fine)
    again = own_server.client.post(f"/api/jobs/{fine}/again", params={"quantity": 3})
    assert again.status_code == 201
    assert own_server.ended(again.json()["id"])["quantity"] == 3
    file = own_server.service.state.path(done["file_digest"])
    for job_id, left in ((fine, True), (again.json()["id"], False)):
        assert own_server.client.delete(f"/api/jobs/{job_id}").status_code == 204
        assert own_server.service.state.storage.has(file) == left
        problem(own_server.client.get(f"/api/jobs/{job_id}"), 404)
    state = own_server.service.state
    assert list(state.storage.kept(state.folder / "results")) == []


@over_both_stores
def test_reports_in_every_form(own_server: Server) -> None:
    """A model that was set aside has a report that says why, in all forms; the page has no part in our origin."""
    job = own_server.ended(own_server.send("crash", "<script>alert(1)</script>.step").json()["jobs"][0]["id"])
    address = f"/api/jobs/{job['id']}/report"
    for form, media in {
        "json": "application/json",
        "html": "text/html",
        "csv": "text/csv",
        "markdown": "text/markdown",
        "junit": "application/xml",
        "sarif": "application/sarif+json",
    }.items():
        response = own_server.client.get(address, params={"form": form})
        assert response.status_code == 200
        assert response.headers["content-type"].startswith(media)
        assert response.headers["x-content-type-options"] == "nosniff"
        assert "SIGSEGV" in response.text
    page = own_server.client.get(address, params={"form": "html"})
    assert page.headers["content-security-policy"].startswith("sandbox ")
    assert "<script>alert" not in page.text
    assert own_server.client.get(address).json()["source"]["file_name"] == "<script>alert(1)</script>.step"


@over_both_stores
def test_a_job_without_a_report_says_so(own_server: Server) -> None:
    """404 with the state."""
    job_id = own_server.send("hang").json()["jobs"][0]["id"]
    assert "no report" in problem(own_server.client.get(f"/api/jobs/{job_id}/report"), 404)


@pytest.mark.parametrize(
    "path",
    ["/api/jobs/../../etc/passwd", "/api/jobs/..%2f..%2fetc%2fpasswd", "/api/jobs/x", "/api/settings/shop/..%2fx"],
)
def test_no_path_leads_out(server: Server, path: str) -> None:
    """Names in addresses are ids and plain names, nothing else."""
    assert server.client.get(path).status_code in {404, 422}


@over_both_stores
def test_settings_files(own_server: Server) -> None:
    """A checked shop file is kept under its name and used by name; one with mistakes is refused with all of them."""
    from api.explain import example_shop

    text = example_shop()
    client = own_server.client
    assert client.put("/api/settings/shop/ours", content=text.encode()).status_code == 200
    assert [each["name"] for each in client.get("/api/settings/shop").json()["files"]] == ["ours"]
    assert client.get("/api/settings/shop/ours").text == text
    sent = own_server.send("fine", shop="ours").json()["jobs"][0]
    assert own_server.ended(sent["id"])["state"] == "done"
    broken = text.replace('unit = "mm"', 'unit = "furlong"', 1)
    assert "furlong" in problem(client.put("/api/settings/shop/bad", content=broken.encode()), 422)
    problem(client.get("/api/settings/shop/bad"), 404)
    problem(client.put("/api/settings/shop/-bad", content=text.encode()), 422)


def test_tokens(own_server: Server) -> None:
    """Once there is a token, nothing goes without; each scope allows what it says, before the body is read."""
    client, registry = own_server.client, own_server.service.registry
    scopes: tuple[Scope, ...] = ("read", "write", "admin")
    tokens = {scope: registry.make_token(scope, scope) for scope in scopes}
    assert "Bearer" in own_server.send().headers["www-authenticate"]
    problem(own_server.send(), 401)
    problem(client.get("/api/jobs", headers={"Authorization": "Bearer made-up"}), 401)
    requests = {
        "read": lambda headers: client.get("/api/jobs", headers=headers),
        "write": lambda headers: client.post("/api/jobs?file_name=a", content=b"fine", headers=headers),
        "admin": lambda headers: client.put("/api/settings/shop/a", content=b"x = 1", headers=headers),
    }
    for given, token in tokens.items():
        for needed, request in requests.items():
            status = request({"Authorization": f"Bearer {token}"}).status_code
            assert (status == 403) == (scopes.index(given) < scopes.index(needed))
    assert client.get("/health").status_code == 200


@over_both_stores
def test_health_readiness_and_metrics(own_server: Server) -> None:
    """The ledger's counts stand in the metrics; a state folder that is gone is said to be not ready."""
    own_server.ended(own_server.send("fine").json()["jobs"][0]["id"])
    assert own_server.client.get("/health").json() == {"status": "alive"}
    assert own_server.client.get("/ready").json() == {"status": "ready"}
    lines = own_server.client.get("/metrics").text.splitlines()
    assert 'partsieve_jobs{state="done"} 1' in lines
    assert "partsieve_analysis_seconds_count 1" in lines
    incoming = own_server.service.state.folder / "incoming"
    incoming.rename(incoming.with_name("gone"))
    problem(own_server.client.get("/ready"), 503)


def test_events_tell_every_change(own_server: Server) -> None:
    """A reader hears of a job from its arrival to its end; one that comes back misses nothing."""
    heard: list[tuple[int, str]] = []
    with own_server.client.stream("GET", "/api/events") as stream:
        lines = stream.iter_lines()
        assert next(lines) == "retry: 2000"
        own_server.send("slow 1")
        for line in lines:
            if line.startswith("id: "):
                number = int(line[4:])
            if line.startswith("data: "):
                heard.append((number, json.loads(line[6:])["state"]))
                if heard[-1][1] == "done":
                    break
    assert [each for each, _ in heard] == sorted({each for each, _ in heard})
    with own_server.client.stream("GET", "/api/events", headers={"Last-Event-ID": "0"}) as stream:
        data = next(line for line in stream.iter_lines() if line.startswith("data: "))
        assert json.loads(data[6:])["state"] == "done"


def test_the_open_api_document_is_there(server: Server) -> None:
    """Every error is described as a problem document."""
    document = server.client.get("/api/openapi.json").json()
    for path, methods in document["paths"].items():
        for method, operation in methods.items():
            assert operation["summary"], (path, method)
            for status, response in operation["responses"].items():
                if status.startswith(("4", "5")):
                    assert list(response["content"]) == ["application/problem+json"], (path, method, status)


def test_an_unknown_address_is_a_problem_document(server: Server) -> None:
    """So is a method that an address does not take."""
    problem(server.client.get("/nothing"), 404)
    problem(server.client.delete("/health"), 405)


def test_the_page_and_what_it_needs(server: Server) -> None:
    """Script, styles and mark come from here; nothing that stands in the page itself could run."""
    page = server.client.get("/")
    policy = page.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "<style" not in page.text
    assert " style=" not in page.text
    assert "onclick" not in page.text
    for name in ("page.js", "page.css", "mark.svg"):
        assert f"/assets/{name}" in page.text
        assert server.client.get(f"/assets/{name}").status_code == 200
    problem(server.client.get("/assets/..%2fapp.py"), 404)
    problem(server.client.get("/assets/list.html.j2"), 422)


def test_the_page_goes_in_with_a_token(own_server: Server) -> None:
    """The token becomes a cookie that no script reads and no other site sends along."""
    token = own_server.service.registry.make_token("page", "write")
    client = own_server.client
    assert client.get("/").status_code == 200
    problem(client.get("/api/overview"), 401)
    problem(client.post("/api/session", headers={"Authorization": "Bearer wrong"}), 401)
    kept = client.post("/api/session", headers={"Authorization": f"Bearer {token}"}).headers["set-cookie"]
    assert {"HttpOnly", "SameSite=strict"} <= {each.strip() for each in kept.split(";")}
    assert client.get("/api/overview").status_code == 200
    assert client.post("/api/jobs?file_name=a.step", content=b"fine").status_code == 201
    problem(client.put("/api/settings/shop/a", content=b"x = 1"), 403)
    client.delete("/api/session")
    problem(client.get("/api/overview"), 401)


def test_other_sites_cannot_use_a_visitors_browser(own_server: Server) -> None:
    """Neither by posting here, nor by pointing a name of their own at this machine."""
    client = own_server.client
    address = "/api/jobs?file_name=a.step"
    problem(client.post(address, content=b"fine", headers={"Origin": "https://elsewhere.example"}), 403)
    problem(client.post(address, content=b"fine", headers={"Origin": "null"}), 403)
    problem(client.post(address, content=b"fine", headers={"Sec-Fetch-Site": "cross-site"}), 403)
    problem(client.get("/api/jobs", headers={"Host": "elsewhere.example"}), 403)
    assert own_server.service.ledger.counts() == {}
    assert client.post(address, content=b"fine", headers={"Origin": own_server.url}).status_code == 201
    token = own_server.service.registry.make_token("t", "read")
    named = {"Host": "shop.example", "Authorization": f"Bearer {token}"}
    assert client.get("/api/jobs", headers=named).status_code == 200


def test_the_list_goes_to_a_spreadsheet(own_server: Server) -> None:
    """Filtered as the list is; what looks like a formula is a text."""
    job = own_server.send("fine 1", "=cmd|'/c calc'!A1.step", customer="+41 44 000", due="2027-01-31").json()["jobs"][0]
    own_server.send("fine 2", "other.step")
    own_server.ended(job["id"])
    query = {"name": "calc"}
    lines = own_server.client.get("/api/export", params=query).text.split("\r\n")
    assert len(lines) == 3
    (row,) = csv.DictReader(lines)
    assert (row["file"], row["customer"], row["due"]) == ("'=cmd|'/c calc'!A1.step", "'+41 44 000", "2027-01-31")
    content = own_server.client.get("/api/export", params={**query, "form": "xlsx"}).content
    sheet = openpyxl.load_workbook(BytesIO(content))["parts"]
    head, values = sheet.iter_rows()
    found = {name.value: cell for name, cell in zip(head, values, strict=True)}
    assert (found["file"].value, found["file"].data_type) == ("=cmd|'/c calc'!A1.step", "s")
    assert found["quantity"].value == 1


@over_both_stores
def test_many_are_judged_again_and_struck_at_once(own_server: Server) -> None:
    """One request for all that were chosen."""
    client = own_server.client
    ids = [own_server.send(f"fine {number}").json()["jobs"][0]["id"] for number in range(3)]
    made = client.post("/api/batch/again", params={"quantity": 4}, json={"jobs": ids}).json()["jobs"]
    assert [own_server.ended(each["id"])["quantity"] for each in made] == [4, 4, 4]
    problem(client.post("/api/batch/again", json={"jobs": ["0" * 32]}), 404)
    assert client.post("/api/batch/delete", json={"jobs": [*ids, "0" * 32]}).json() == {"struck": 3}
    assert len(client.get("/api/jobs").json()["jobs"]) == 3
    overview = client.get("/api/overview").json()
    assert overview["states"] == {"done": 3}
    assert len(overview["materials"]) == 1


def test_two_are_set_side_by_side(own_server: Server) -> None:
    """What differs stands out; names are text."""
    nasty = "<script>alert(1)</script>.step"
    ids = [own_server.send(f"fine {number}", nasty, quantity=number).json()["jobs"][0]["id"] for number in (1, 2)]
    for each in ids:
        own_server.ended(each)
    page = own_server.client.get("/compare", params={"old": ids[0], "new": ids[1]})
    assert page.status_code == 200
    assert "<script>" not in page.text
    assert 'class="differs"' in page.text
    problem(own_server.client.get("/compare", params={"old": ids[0], "new": "0" * 32}), 404)
