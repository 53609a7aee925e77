"""The pages behind a socket, in the clear or encrypted."""

import socket
import ssl
from contextlib import suppress
from dataclasses import dataclass

import uvicorn

from diagnose.errors import VisitError
from diagnose.web.app import build
from diagnose.web.context import PageContext
from diagnose.web.punctual import Punctual
from diagnose.words import say


@dataclass(frozen=True, slots=True)
class Address:
    """Where to serve; `port` 0 is any free one, `local` when only this machine can come in, '' no encryption."""

    host: str
    port: int
    local: bool
    certificate: str = ""
    key: str = ""


def require_certificate(address: Address) -> None:
    """What is to encrypt the pages can be used. Raises VisitError."""
    if address.key and not address.certificate:
        raise VisitError(say("web.key_alone"))
    try:
        if address.certificate:
            ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(address.certificate, address.key or None)
    except OSError as error:
        why = error.strerror or error
        raise VisitError(say("web.bad_certificate", file=address.certificate, why=why)) from error


def serve(context: PageContext, address: Address) -> None:
    """Until Ctrl-C; says where. Raises VisitError when nobody can be served there."""
    config = uvicorn.Config(
        build(context, address.local),
        log_level="warning",
        server_header=False,
        proxy_headers=False,
        http=Punctual,
        ws="none",
        limit_concurrency=64,
        timeout_graceful_shutdown=3,
        ssl_certfile=address.certificate or None,
        ssl_keyfile=address.key or None,
    )
    with _door(address) as door, suppress(KeyboardInterrupt):  # raised once open pages have ended
        print(_welcome(address, door.getsockname()[1]), flush=True)
        uvicorn.Server(config).run([door])


def _door(address: Address) -> socket.socket:
    """A socket that listens there. Raises VisitError."""
    host, port = address.host, address.port
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    try:
        return socket.create_server((host, port), family=family)
    except (OSError, OverflowError) as error:
        reason = (error.strerror if isinstance(error, OSError) else "") or error
        raise VisitError(say("web.cannot_serve", host=host, port=port, why=reason)) from error


def _welcome(address: Address, port: int) -> str:
    name = f"[{address.host}]" if ":" in address.host else address.host
    says = f"http{'s' if address.certificate else ''}://{name}:{port}/  ({say('web.how_to_stop')})"
    return says if address.local or address.certificate else f"{says}\n{say('web.in_the_clear')}"
