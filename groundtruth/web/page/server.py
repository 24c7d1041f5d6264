"""The server of the page: routes, static files, and the loop that runs until it is stopped."""

from __future__ import annotations

import secrets
import socket
from collections.abc import Callable
from functools import cache
from importlib.resources import files
from mimetypes import types_map
from pathlib import Path
from typing import Any
from urllib.parse import unquote

from starlette.applications import Starlette
from starlette.background import BackgroundTask
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from ... import __version__
from ...core.errors import GroundtruthError, InputError
from ...core.language import speaking
from ...core.opened import inputs_remembered
from ...io.bounded_json import parse_json
from ...io.files import Source
from ...views.map.vendored import leaflet_css, leaflet_js, shared_scripts
from .asked import shown_language, table, text, whole_number
from .desk import Desk, StaleDraftError
from .guard import Guard

HOST, PORT = "127.0.0.1", 47613
"""A port of the dynamic range [RFC 6335, 6], the same each time so that a window finds it again."""
Json = dict[str, Any]
_MOST_VIEWS = 20


def page_app(desk: Desk, record: Path, *, port: int, secret: str) -> Guard:
    """The page's server as an ASGI application that answers on one port only."""
    views = dict[str, str]()

    def opened(_: Json) -> Json:
        return {
            **desk.draft(),
            "files": [_file(f.key, f.name, f.size) for f in desk.files()],
            "version": __version__,
            "folder": str(desk.saved),
        }

    def kept(asked: Json) -> Json:
        return {"revision": desk.keep(table(asked.get("state")), whole_number(asked, "revision"))}

    def removed(asked: Json) -> Json:
        desk.remove(text(asked, "key"))
        return {}

    def begun(asked: Json) -> Json:
        revision = desk.keep(table(asked.get("state")), whole_number(asked, "revision"))
        desk.clear()
        return {"revision": revision}

    def tickets(pages: dict[str, str]) -> dict[str, str]:
        addresses = {}
        for name, page in pages.items():
            ticket = secrets.token_urlsafe(32)
            views[ticket] = page
            addresses[name] = f"/view/{ticket}/{name}"
        while len(views) > _MOST_VIEWS:
            views.pop(next(iter(views)))
        return addresses

    async def filed(request: Request) -> Response:
        name = unquote(request.headers.get("x-file-name", ""))
        source = Source(name, await request.body())

        as_backdrop = request.headers.get("x-file-use") == "backdrop"

        def work() -> Json:
            from .dropped import backdrop_dropped, dropped

            return backdrop_dropped(source, desk) if as_backdrop else dropped(source, desk)

        return await _worked(work)

    async def viewed(request: Request) -> Response:
        page = views.get(request.path_params["ticket"])
        if page is None:
            return Response("gone; save the run again", status_code=404)
        # an origin of its own: a page of results reaches nothing of this one
        policy = "sandbox allow-scripts allow-modals allow-popups"
        headers = {"Content-Security-Policy": policy, "Cross-Origin-Opener-Policy": "unsafe-none"}
        return Response(page, media_type="text/html", headers=headers)

    static = _static_files()

    async def shown(request: Request) -> Response:
        found = static.get(request.url.path)
        if found is None:
            return Response("not here", status_code=404)
        return Response(found[0], media_type=found[1])

    @cache
    def questions() -> dict[str, Callable[[Json], Json]]:
        from .questions import questions_about

        return questions_about(desk, record, tickets)

    at_once: dict[str, Callable[[Json], Json]] = {
        "open": opened,
        "keep": kept,
        "remove": removed,
        "new": begun,
    }

    async def answered(request: Request) -> Response:
        try:
            asked = table(parse_json((await request.body()).decode()))
        except ValueError:
            return JSONResponse({"error": {"text": "not understood"}}, status_code=400)
        name = request.path_params["name"]

        def work() -> Json:
            answer = at_once.get(name) or questions().get(name)
            if answer is None:
                raise InputError("there is no such question")
            with speaking(shown_language(request.headers.get("accept-language", ""))):
                return answer(asked)

        said = await _worked(work)
        if name == "open":  # the page is there: load meanwhile what its first question needs
            said.background = BackgroundTask(questions)
        return said

    routes = [
        Route("/api/file", filed, methods=["POST"]),
        Route("/api/{name}", answered, methods=["POST"]),
        Route("/view/{ticket}/{name}", viewed, methods=["GET"]),
        Route("/{rest:path}", shown, methods=["GET"]),
    ]
    return Guard(Starlette(routes=routes), port=port, secret=secret)


async def _worked(work: Callable[[], Json]) -> Response:
    """The answer of a piece of work done beside the loop, or what was wrong with the question."""
    try:
        return JSONResponse(await run_in_threadpool(_on_its_own, work))
    except StaleDraftError as error:
        return JSONResponse({"error": {"text": str(error)}}, status_code=409)
    except GroundtruthError as error:
        said: Json = {"text": str(error), "reason": error.reason, "file": error.file}
        said |= {"line": error.line, "column": error.column}
        at = {name: getattr(error, name, None) for name in ("number", "place")}
        return JSONResponse({"error": {**said, **at}}, status_code=422)


def _on_its_own(work: Callable[[], Json]) -> Json:
    """Do one piece of work as a call of its own, whose inputs no other call remembers."""
    with inputs_remembered():
        return work()


def _file(key: str, name: str, size: int) -> Json:
    return {"key": key, "name": name, "size": size}


def _static_files() -> dict[str, tuple[bytes, str]]:
    """Every file that is shown, by its address: those of the package, and no other of the disk."""
    found = {
        "/leaflet.js": (leaflet_js().encode(), "text/javascript"),
        **{f"/{n}": (js.encode(), "text/javascript") for n, js in shared_scripts().items()},
        "/leaflet.css": (leaflet_css().encode(), "text/css"),
    }
    kinds = {".js": "text/javascript", ".css": "text/css", ".html": "text/html"}
    for entry in files(__package__).joinpath("static").iterdir():
        suffix = "." + entry.name.rpartition(".")[2]
        kind = kinds.get(suffix) or types_map.get(suffix, "application/octet-stream")
        found[f"/{entry.name}"] = entry.read_bytes(), kind
    found["/"] = found["/index.html"]
    return found


def serve(desk: Desk, record: Path, *, port: int | None, opened: Callable[[str], None]) -> None:
    """Answer until stopped; ``opened`` gets the address with the secret once the page is there.

    Raises
    ------
    InputError : the port asked for is taken.
    """
    import uvicorn

    desk.open()
    with _listening(port) as listener:
        own_port, secret = listener.getsockname()[1], secrets.token_urlsafe(32)
        config = uvicorn.Config(
            page_app(desk, record, port=own_port, secret=secret),
            log_level="error",
            access_log=False,
            lifespan="off",
            ws="none",
            server_header=False,
            date_header=False,
            limit_concurrency=64,
            timeout_graceful_shutdown=3,
        )
        opened(f"http://{HOST}:{own_port}/#{secret}")
        uvicorn.Server(config).run(sockets=[listener])


def _listening(port: int | None) -> socket.socket:
    """A socket on the loopback interface: on the port asked for, else ours, else a free one."""
    for tried in (port,) if port is not None else (PORT, 0):
        # only a socket that says TCP is taken out of Nagle's algorithm by asyncio; with it, every
        # answer to a kept connection comes 40 ms late
        listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
        try:
            if socket.SO_REUSEADDR and hasattr(socket, "AF_UNIX"):  # on Windows it would share
                listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            listener.bind((HOST, tried))
            listener.listen(64)
            return listener
        except (OSError, OverflowError) as error:
            listener.close()
            if tried in (port, 0):
                raise InputError(
                    f"port {tried} of {HOST} cannot be used ({error}); leave out --port"
                ) from error
    raise AssertionError("a free port is always found or refused")
