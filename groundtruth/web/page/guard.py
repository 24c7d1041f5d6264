"""Who may ask the page's server: nobody but the page itself, opened by whoever started it.

A server on the loopback interface can be reached by every page that the browser has open, and by
every program of the machine. So a request passes only if it names this host (else a foreign name
may have been pointed here, "DNS rebinding"), was sent by this very page as the browser tells by
Origin [RFC 6454] and Sec-Fetch-Site [W3C Fetch Metadata], and, where data are concerned, carries
the secret of this start. There are no cookies, which a browser would send along unasked.
"""

from __future__ import annotations

import hmac
from dataclasses import dataclass

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "connect-src 'self'",
        "base-uri 'none'",
        "form-action 'none'",
        "frame-ancestors 'none'",
    )
)
_HEADERS = {
    "Content-Security-Policy": POLICY,
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Embedder-Policy": "require-corp",
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=(self)",
    "Cache-Control": "no-store",
}
API = "/api/"
SHEET_BYTES = 2 << 20
"""The longest body of a question."""
FILE_BYTES = 256 << 20
"""The largest file that is taken: a track of a week."""


@dataclass(frozen=True, slots=True)
class Guard:
    """Answers itself what may not pass; bounds the bodies of what may."""

    app: ASGIApp
    port: int
    secret: str

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    headers.setdefault(name, value)
            await send(message)

        refusal = self._refusal(scope)
        if refusal:
            await _answer(*refusal, scope, receive, send_with_headers)
            return
        most, taken = _most(scope), 0

        async def bounded() -> Message:
            nonlocal taken
            message = await receive()
            taken += len(message.get("body", b""))
            if taken > most:
                raise HTTPException(413, "too large")
            return message

        await self.app(scope, bounded, send_with_headers)

    def _refusal(self, scope: Scope) -> tuple[int, str] | None:
        """Status and reason where the request may not pass."""
        headers = Headers(scope=scope)
        hosts = {f"127.0.0.1:{self.port}", f"localhost:{self.port}"}
        host = headers.getlist("host")
        if len(host) != 1 or host[0] not in hosts:
            return 421, "this server answers to 127.0.0.1 only"
        if headers.get("sec-fetch-site", "none") not in ("same-origin", "none"):
            return 403, "asked by another page"
        if headers.get("origin", f"http://{host[0]}") != f"http://{host[0]}":
            return 403, "asked by another page"
        if scope["method"] not in ("GET", "HEAD", "POST"):
            return 405, "not a way to ask"
        if scope["path"].startswith(API):
            given = headers.get("authorization", "")
            if not hmac.compare_digest(given.encode(), f"Bearer {self.secret}".encode()):
                return 401, "the secret of this start is missing"
            if scope["method"] != "POST":
                return 405, "not a way to ask"
        length = headers.get("content-length", "0")
        if not length.isascii() or not length.isdigit() or int(length[:18]) > _most(scope):
            return 413, "too large"
        return None


def _most(scope: Scope) -> int:
    """How many bytes the body may have."""
    return FILE_BYTES if scope["path"] == f"{API}file" else SHEET_BYTES


async def _answer(status: int, why: str, scope: Scope, receive: Receive, send: Send) -> None:
    await JSONResponse({"error": {"text": why}}, status_code=status)(scope, receive, send)
