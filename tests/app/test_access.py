"""Who gets in: requests as browsers, other sites' pages and other users of the machine send them."""

import http.client
import re
import socket

import pytest

from planner.session.access import Access, is_own_host, is_own_origin

from .conftest import addresses_of, key_of, start_server

PLAN = """\
[camera]
focal_length_mm = 380.0
sensor_px = [6000, 4000]
pixel_um = 3.9

[region]
center = [128.5, -45.8]
radius_deg = 1.0

[mosaic]
position_angle_deg = 20.0
layout = "grid"
"""
STREAM = {
    "Connection": "Upgrade",
    "Upgrade": "websocket",
    "Sec-WebSocket-Version": "13",
    "Sec-WebSocket-Key": "dGhlIHNhbXBsZSBub25jZQ==",  # of RFC 6455, section 1.3
    "Sec-WebSocket-Protocol": "streamlit",
}
ALL_WAYS = [
    ("GET", "/", {}),
    ("GET", "/nights", {}),
    ("GET", "/_stcore/host-config", {}),
    ("GET", "/_stcore/stream", STREAM),
    ("GET", "/media/0123456789abcdef.toml?title=plan.toml", {}),
    ("GET", "/static/index.html", {}),
    ("GET", "/no/such/page", {}),
    ("HEAD", "/", {}),
    ("PUT", "/_stcore/upload_file/one/two", {}),
    ("POST", "/canvas", {"Content-Type": "application/json"}),
    ("OPTIONS", "/canvas", {}),
    ("DELETE", "/_stcore/upload_file/one/two", {}),
]
"""Pages, the websocket, downloads, uploads, the canvas' route."""


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    """Return the port of a server, its key, and its folder."""
    folder = tmp_path_factory.mktemp("locked")
    (folder / "plan.toml").write_text(PLAN)
    process, address, log = start_server(folder, "plan.toml", key=True)
    key = key_of(log)
    yield int(address.rpartition(":")[2]), key, folder
    process.terminate()
    process.wait(60)
    assert "Traceback" not in log.read_text()
    assert outside(folder) == []


def outside(folder):
    """What the server spoke to or looked up that is not this machine itself."""
    found = addresses_of(folder)
    assert any(line.startswith("socket.bind ('127.0.0.1'") for line in found)  # the watch itself works
    return [line for line in found if not re.search(r"'(127\.0\.0\.1|localhost|::1)'|^\S+ (None|'/)", line)]


def ask(port, method, path, headers):
    """Send a request with just these headers; return status, headers and text."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    connection.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
    for name, value in headers.items():
        connection.putheader(name, value)
    connection.putheader("Content-Length", "0")
    connection.endheaders()
    answer = connection.getresponse()
    upgraded = answer.status == 101
    text = "" if upgraded or method == "HEAD" else answer.read().decode("utf-8", "replace")
    connection.close()
    return answer.status, answer.headers, text


def let_in(server):
    """Return the header of a browser that came with the key."""
    port, key, _ = server
    status, headers, text = ask(port, "GET", f"/?view=red&key={key}", {"Host": f"127.0.0.1:{port}"})
    assert status == 200 and 'url=/?view=red"' in text and key not in text
    assert headers["Referrer-Policy"] == "no-referrer"
    cookie = headers["Set-Cookie"]
    assert re.search(r"; HttpOnly(;|$)", cookie) and re.search(r"; SameSite=strict(;|$)", cookie)
    assert key not in cookie  # whoever learns of one does not know the other
    return {"Cookie": cookie.split(";")[0]}


@pytest.mark.parametrize("method, path, headers", ALL_WAYS)
def test_other_hosts_and_other_origins_get_400_whatever_they_ask(server, method, path, headers):
    port, cookie = server[0], let_in(server)
    own = f"127.0.0.1:{port}"
    for host, origin in [
        (f"evil.example:{port}", f"http://evil.example:{port}"),  # a name made to point here
        (f"evil.example:{port}", None),
        (f"127.0.0.1.evil.example:{port}", None),
        (f"localhost.:{port}", None),
        (f"user@localhost:{port}", None),
        ("169.254.7.7", None),
        ("", None),
        (own, "http://evil.example"),
        (own, f"http://localhost:{port}"),  # of this machine, but not what was asked
        (own, f"http://127.0.0.1:{port + 1}"),
        (own, f"http://127.0.0.1:{port}.evil.example"),
        (own, "null"),
    ]:
        sent = {"Host": host, **({} if origin is None else {"Origin": origin}), **headers, **cookie}
        status, _, text = ask(port, method, path, sent)
        assert status == 400, (host, origin)
        assert method == "HEAD" or "127.0.0.1, localhost and [::1]" in text


@pytest.mark.parametrize("method, path, headers", ALL_WAYS)
def test_nobody_without_the_key_gets_anything(server, method, path, headers):
    port = server[0]
    for more, query in [
        ({}, ""),
        ({"Cookie": f"mosaic_planner_{port}=wrong"}, ""),
        ({}, "key="),
        ({}, "key=wrong"),
    ]:
        asked = path + ("&" if "?" in path else "?") * bool(query) + query
        status, found, text = ask(port, method, asked, {"Host": f"127.0.0.1:{port}", **headers, **more})
        assert status == 403 and "Set-Cookie" not in found
        assert method == "HEAD" or "key" in text


def test_with_the_key_everything_answers_under_every_name_of_this_machine(server):
    port = server[0]
    for host in (f"127.0.0.1:{port}", f"LOCALHOST:{port}", f"[::1]:{port}"):
        sent = {"Host": host, "Origin": f"http://{host}", **let_in(server)}
        assert ask(port, "GET", "/", sent)[0] == 200
        assert ask(port, "GET", "/_stcore/stream", STREAM | sent)[0] == 101
        assert ask(port, "GET", "/media/none.toml", sent)[0] == 404
        assert ask(port, "POST", "/canvas", {"Content-Type": "application/json"} | sent)[0] == 400


def test_a_forwarded_port_is_its_own_host(server):
    port, key, _ = server
    host = "localhost:9999"
    answer = ask(port, "GET", f"/?key={key}", {"Host": host})
    cookie = {"Cookie": answer[1]["Set-Cookie"].split(";")[0]}
    assert "mosaic_planner_9999=" in cookie["Cookie"]
    assert (
        ask(port, "GET", "/_stcore/stream", STREAM | cookie | {"Host": host, "Origin": f"http://{host}"})[0]
        == 101
    )


def test_the_key_leads_nowhere_else(server):
    port, key, _ = server
    host = {"Host": f"127.0.0.1:{port}"}
    for path in ("//evil.example/", "/\\evil.example/", '/"><script>', "/%22%3E%3Cscript%3E"):
        status, _, text = ask(port, "GET", f"{path}?key={key}", host)
        assert status == 200
        assert re.search(r'url=/[a-z%0-9A-Z./]*"', text), text
        assert "<script" not in text and "url=//" not in text


def test_two_hosts_or_two_origins_in_one_request_are_refused(server):
    port, cookie = server[0], let_in(server)["Cookie"]
    for lines in (
        f"Host: 127.0.0.1:{port}\r\nHost: evil.example",
        f"Host: 127.0.0.1:{port}\r\nOrigin: http://127.0.0.1:{port}\r\nOrigin: http://evil.example",
    ):
        with socket.create_connection(("127.0.0.1", port), timeout=60) as raw:
            raw.sendall(
                f"GET / HTTP/1.1\r\n{lines}\r\nCookie: {cookie}\r\nConnection: close\r\n\r\n".encode()
            )
            assert raw.recv(100).startswith(b"HTTP/1.1 400")


def test_other_sites_may_not_hold_the_pages_in_a_frame_or_take_files_from_them(server):
    port = server[0]
    _, headers, _ = ask(port, "GET", "/", {"Host": f"127.0.0.1:{port}", **let_in(server)})
    assert headers["Content-Security-Policy"] == "frame-ancestors 'self'"
    assert headers["Cross-Origin-Resource-Policy"] == "same-origin"


def test_a_ticket_opens_once_and_the_key_again():
    access = Access()
    ticket = access.ticket()
    assert ticket != access.key and access.opens(ticket) and not access.opens(ticket)
    assert access.opens(access.key) and access.opens(access.key)
    assert not access.opens("") and not access.knows("") and not access.knows(access.key)
    assert not access.opens("\u00e9") and Access().key != access.key


def test_hosts_and_origins():
    for host in ("localhost", "127.0.0.1:1", "[::1]", "[::1]:65535"):
        assert is_own_host(host)
        assert is_own_origin(f"http://{host}", host) and is_own_origin(f"https://{host}", host)
    for host in (
        "",
        ":80",
        "localhost:",
        "localhost:x",
        "localhost:99999",
        "localhost:" + "9" * 5000,
        "::1",
        "[::1",
    ):
        assert not is_own_host(host)
    assert not is_own_origin("localhost", "localhost") and not is_own_origin("file://localhost", "localhost")


def test_without_a_key_only_this_machines_own_pages_get_in(tmp_path):
    process, address, log = start_server(tmp_path)
    port = int(address.rpartition(":")[2])
    assert "key" not in log.read_text()
    own = {"Host": f"127.0.0.1:{port}", "Origin": address}
    assert ask(port, "GET", "/", own)[0] == 200
    assert ask(port, "GET", "/_stcore/stream", STREAM | own)[0] == 101
    for wrong in ({"Host": f"evil.example:{port}"}, {"Origin": "http://evil.example"}):
        assert ask(port, "GET", "/_stcore/stream", STREAM | own | wrong)[0] == 400
    process.terminate()
    process.wait(60)
    assert outside(tmp_path) == []


def test_a_browser_comes_in_by_a_link_on_another_page_and_stays_in(chromium, server):
    port, key, _ = server
    with chromium.new_context() as context:
        context.set_default_timeout(60_000)
        page = context.new_page()
        page.goto(f"data:text/html,<a href='http://127.0.0.1:{port}/nights?key={key}'>planner</a>")
        page.get_by_role("link", name="planner").click()
        page.get_by_role("button", name="As file").wait_for()
        assert page.url == f"http://127.0.0.1:{port}/nights"
        assert page.evaluate("document.cookie").find("mosaic_planner") == -1
        page.reload()
        page.get_by_role("button", name="As file").wait_for()
    with chromium.new_context() as stranger:
        page = stranger.new_page()
        assert page.goto(f"http://127.0.0.1:{port}/").status == 403
