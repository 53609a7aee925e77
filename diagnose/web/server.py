"""The pages behind a socket, in the clear or encrypted."""

import ipaddress
import logging
import socket
import ssl
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass

import uvicorn
from starlette.types import ASGIApp

from diagnose.errors import VisitError
from diagnose.web.app import build
from diagnose.web.context import PageContext
from diagnose.web.keeper import LOG
from diagnose.web.lines import Connections, door_of
from diagnose.web.punctual import punctual
from diagnose.words import say


@dataclass(frozen=True, slots=True)
class Address:
    """Where to serve; `port` 0 is any free one, `local` when only this machine can come in, '' no encryption.

    `proxies`: addresses or networks that are believed when they say whom they speak for; `names`: what others call
    it.
    """

    host: str
    port: int
    local: bool
    certificate: str = ""
    key: str = ""
    proxies: tuple[str, ...] = ()
    names: tuple[str, ...] = ()

    @property
    def open(self) -> bool:
        """Whether others come in: straight, or through what stands in front."""
        return not self.local or bool(self.proxies or self.names)


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
    _log_logins()
    lines = Connections(many=Networks(address.proxies))
    with (
        door_of(_listening(address), lines) as door,
        suppress(KeyboardInterrupt),
    ):  # once pages have ended
        print(_welcome(address, door.getsockname()[1]), flush=True)
        uvicorn.Server(config_of(build(context, address.local, address.names), address, lines)).run([door])


def _log_logins() -> None:
    """Who came in and who did not, with the time, among what the server says of itself."""
    handler = logging.StreamHandler()
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(message)s"))
    LOG.handlers, LOG.propagate = [handler], False
    LOG.setLevel(logging.INFO)


def config_of(app: ASGIApp, address: Address, lines: Connections) -> uvicorn.Config:
    """How it is served. How many may be connected is for `lines` to say: uvicorn's own limit turns everybody away."""
    return uvicorn.Config(
        app,
        log_level="warning",
        loop="asyncio",  # the one that lets the door look at who comes
        server_header=False,
        proxy_headers=bool(address.proxies),
        forwarded_allow_ips=list(address.proxies),
        http=punctual(lines),
        ws="none",
        timeout_graceful_shutdown=3,
        ssl_certfile=address.certificate or None,
        ssl_keyfile=address.key or None,
    )


class Networks:
    """Addresses, each by itself or as a whole network. Raises VisitError at what is none."""

    def __init__(self, given: Iterable[str]) -> None:
        try:
            self._networks = [ipaddress.ip_network(one) for one in given]
        except ValueError as error:
            raise VisitError(say("web.bad_proxy", why=error)) from error

    def __contains__(self, address: object) -> bool:
        try:
            known = ipaddress.ip_address(str(address).partition("%")[0])
        except ValueError:
            return False
        return any(known in network for network in self._networks)


def _listening(address: Address) -> socket.socket:
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
