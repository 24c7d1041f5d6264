"""Nobody asks the page's server but the page itself.

DNS rebinding: the Host header must name this host [OWASP, "DNS rebinding", from memory]. Origin
[RFC 6454] and Sec-Fetch-Site [W3C Fetch Metadata Request Headers] tell who asks.
"""

from __future__ import annotations

import http.client
import json
import socket

import pytest
from opening import serving

from groundtruth.web.page.server import _listening


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    with serving(tmp_path_factory.mktemp("desk")) as running:
        yield running


def asked(server, path, body=b"{}", method="POST", **headers):
    """Status and body of a raw request; by default one that passes."""
    given = {
        "Host": f"127.0.0.1:{server.port}",
        "Authorization": f"Bearer {server.secret}",
        **{name.replace("_", "-"): value for name, value in headers.items() if value is not None},
    }
    for name in [name for name, value in headers.items() if value is None]:
        given.pop(name.replace("_", "-"))
    line = http.client.HTTPConnection("127.0.0.1", server.port, timeout=30)
    try:
        line.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
        given.setdefault("Content-Length", str(len(body)))
        for name, value in given.items():
            line.putheader(name, value)
        line.endheaders(body)
        answer = line.getresponse()
        return answer.status, answer.read(), dict(answer.getheaders())
    finally:
        line.close()


def test_the_page_itself_passes(server):
    status, body, _ = asked(
        server,
        "/api/open",
        Origin=f"http://127.0.0.1:{server.port}",
        Sec_Fetch_Site="same-origin",
    )
    assert status == 200
    assert json.loads(body)["revision"] == 0


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1", "127.0.0.1.evil.example:80", ""])
@pytest.mark.parametrize("path", ["/", "/api/open", "/main.js"])
def test_a_foreign_host_name_is_refused(server, host, path):
    assert asked(server, path, Host=host)[0] == 421


def test_two_host_names_are_refused(server):
    with socket.create_connection(("127.0.0.1", server.port), timeout=30) as line:
        own = f"Host: 127.0.0.1:{server.port}\r\n"
        line.sendall(f"GET / HTTP/1.1\r\n{own}Host: evil.example\r\n\r\n".encode())
        assert line.recv(64).split()[1] in (b"400", b"421")


@pytest.mark.parametrize(
    "sign",
    [
        {"Origin": "http://evil.example"},
        {"Origin": "null"},
        {"Origin": "http://127.0.0.1:1"},
        {"Sec_Fetch_Site": "cross-site"},
        {"Sec_Fetch_Site": "same-site"},
    ],
)
def test_a_foreign_page_is_refused(server, sign):
    assert asked(server, "/api/open", **sign)[0] == 403


@pytest.mark.parametrize("given", [None, "Bearer ", "Bearer wrong", "Basic x", "Bearer \xe4"])
@pytest.mark.parametrize("path", ["open", "keep", "file", "find", "measure", "save", "remove"])
def test_without_the_secret_nothing_is_answered(server, given, path):
    assert asked(server, f"/api/{path}", Authorization=given)[0] == 401


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS", "PATCH", "TRACE"])
def test_other_ways_to_ask_are_refused(server, method):
    assert asked(server, "/api/open", method=method)[0] == 405


def test_a_large_body_is_refused_by_its_length_before_it_is_read(server):
    assert asked(server, "/api/keep", body=b"", Content_Length=str(3 << 20))[0] == 413
    assert asked(server, "/api/file", body=b"", Content_Length=str(300 << 20))[0] == 413
    assert asked(server, "/api/keep", body=b"", Content_Length="9" * 400)[0] in (400, 413)


def test_a_large_body_without_a_length_is_refused_while_it_is_read(server):
    part = b"100000\r\n" + b"x" * 0x100000 + b"\r\n"
    with socket.create_connection(("127.0.0.1", server.port), timeout=30) as line:
        head = f"POST /api/keep HTTP/1.1\r\nHost: 127.0.0.1:{server.port}\r\n"
        head += f"Authorization: Bearer {server.secret}\r\nTransfer-Encoding: chunked\r\n\r\n"
        line.sendall(head.encode())
        try:
            for _ in range(40):
                line.sendall(part)
        except OSError:
            return  # the line was cut
        assert line.recv(64).split()[1] == b"413"


@pytest.mark.parametrize(
    "path",
    [
        "/../pyproject.toml",
        "/..%2f..%2fmain.py",
        "/static/../guard.py",
        "/%2e%2e/guard.py",
        "//etc/passwd",
        "/view/x/map.html",
        "/view/../api/open",
        "/main.js%00",
    ],
)
def test_no_path_leads_to_a_file(server, path):
    status, body, _ = asked(server, path, method="GET")
    assert (status, b"import" in body, b"root:" in body) == (404, False, False)


@pytest.mark.parametrize("key", ["../draft.json", "/etc/passwd", "draft.json", "0" * 16])
def test_no_key_leads_to_a_file(server, key):
    body = json.dumps({"tracks": [key]}).encode()
    status, said, _ = asked(server, "/api/find", body)
    assert status == 422
    assert "gone" in json.loads(said)["error"]["text"]


@pytest.mark.parametrize(
    "body", [b"", b"[]", b"nonsense", b"[" * 100_000, b'{"tracks": 3}', b'{"tracks": [[1]]}']
)
def test_nonsense_is_answered_in_one_line(server, body):
    status, said, _ = asked(server, "/api/find", body)
    assert status in (400, 422)
    assert json.loads(said)["error"]["text"]


def test_every_answer_says_what_the_browser_may_do(server):
    for path, method in (("/", "GET"), ("/api/open", "POST"), ("/nothing", "GET")):
        headers = {k.lower(): v for k, v in asked(server, path, method=method)[2].items()}
        assert headers["content-security-policy"].startswith("default-src 'none'; ")
        assert "unsafe" not in headers["content-security-policy"]
        assert headers["cross-origin-opener-policy"] == "same-origin"
        assert headers["cross-origin-resource-policy"] == "same-origin"
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["cache-control"] == "no-store"
        assert "set-cookie" not in headers
        assert "access-control-allow-origin" not in headers


def test_only_the_loopback_interface_is_listened_on(server):
    """Another address of this machine, where it has one, finds nobody."""
    others = {a[4][0] for a in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)}
    for other in others - {"127.0.0.1"}:
        with socket.socket() as line:
            line.settimeout(5)
            assert line.connect_ex((other, server.port)) != 0


def test_answers_are_not_held_back():
    """asyncio sets TCP_NODELAY [RFC 1122, 4.2.3.4] on sockets that name TCP as their protocol, and
    so do those that such a one accepts."""
    with _listening(0) as listener, socket.create_connection(listener.getsockname()):
        accepted, _ = listener.accept()
        with accepted:
            assert accepted.proto == listener.proto == socket.IPPROTO_TCP
