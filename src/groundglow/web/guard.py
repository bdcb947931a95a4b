"""What a request passes before any route sees it: host, origin, token, path, size; and headers of every answer."""

from __future__ import annotations

import hmac
import ipaddress
import re
from collections.abc import Mapping
from http.cookies import CookieError, SimpleCookie
from urllib.parse import unquote_to_bytes, urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from groundglow.web.refusals import Plain, Refusal, error_body
from groundglow.web.settings import Settings

__all__ = ["COOKIE", "POLICY", "Guard", "signed_in", "token_is"]

COOKIE = "groundglow"
SAFE_METHODS = ("GET", "HEAD", "OPTIONS")
#: Open without a token: what is needed to give one.
OPEN = ("/login", "/api/login", "/api/about", "/static/")
#: Raw bodies, which may be large; all others are JSON.
UPLOADS = re.compile(r"^/api/(sites/read|jobs/[^/]+/(site|flights/.+/(frames|files)/[^/]+|visits/[^/]+/[^/]+))$")
POLICY = (
    "default-src 'self'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
    "font-src 'self'; connect-src 'self'; worker-src 'self' blob:; frame-src 'self'; object-src 'none'; "
    "base-uri 'none'; form-action 'self'; frame-ancestors 'self'"
)
HEADERS: Mapping[str, str] = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "SAMEORIGIN",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=(), payment=(), usb=()",
}
BAD_PATH = re.compile(rb"[\x00-\x1f\x7f\\]|(^|/)\.\.?(/|$)|//")


def token_is(settings: Settings, given: str) -> bool:
    """Whether a token is the right one; takes as long for a wrong one."""
    return hmac.compare_digest(settings.token.encode(), given.encode("utf-8", "surrogatepass"))


def signed_in(settings: Settings, headers: Headers) -> bool:
    """Whether a request brings the token."""
    return token_is(settings, _given(headers))


class Guard:
    """The outermost layer of the application."""

    def __init__(self, app: ASGIApp, settings: Settings) -> None:
        self.app, self.settings = app, settings
        self._hosts = {"localhost", settings.host.lower(), *(n.lower() for n in settings.names)}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or refuse it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        try:
            self._check(scope, headers)
            most = self._most(scope, headers)
        except Refusal as refusal:
            await _refuse(refusal, scope, receive, _with_headers(send))
            return
        await self.app(scope, _counted(receive, most), _with_headers(send))

    def _check(self, scope: Scope, headers: Headers) -> None:
        raw = scope.get("raw_path") or scope["path"].encode()
        if BAD_PATH.search(unquote_to_bytes(raw)) or b"%2f" in raw.lower() or b"%5c" in raw.lower():
            raise Refusal(400, "The path holds what no name of ours may hold: .., //, a backslash or a control sign.")
        self._host(headers)
        _origin(scope, headers)
        self._token(scope, headers)

    def _host(self, headers: Headers) -> None:
        host = headers.get("host", "")
        name = (urlsplit(f"//{host}").hostname or "").lower() if _sound(host) else ""
        if not (name in self._hosts or self._address(name)):
            raise Refusal(421, f"This server does not answer to the host name {name or host!r}.", "HostError")

    def _address(self, name: str) -> bool:
        """Whether it is called by an address rather than by a name that somebody else may point here."""
        try:
            return ipaddress.ip_address(name).is_loopback or bool(self.settings.token)
        except ValueError:
            return False

    def _token(self, scope: Scope, headers: Headers) -> None:
        path = scope["path"]
        if not self.settings.token or path in OPEN or path.startswith("/static/"):
            return
        if signed_in(self.settings, headers):
            return
        if path.startswith("/api/") or scope["method"] not in SAFE_METHODS:
            raise Refusal(401, "A token is needed: sign in first.", "TokenError", {"www-authenticate": "Bearer"})
        raise Refusal(303, "Sign in first.", "TokenError", {"location": "/login"})

    def _most(self, scope: Scope, headers: Headers) -> int:
        """Bytes that this request may bring."""
        if headers.get("content-encoding", "identity").lower() != "identity":
            raise Refusal(415, "Send it as it is: compressed requests are not unpacked here.")
        upload = UPLOADS.match(scope["path"])
        most = self.settings.most_bytes if upload else self.settings.most_json
        length = headers.get("content-length", "0")
        if not length.isdigit():
            raise Refusal(400, f"content-length is {length!r}, which is no length.")
        if int(length) > most:
            raise Refusal(413, f"That is {int(length)} bytes; {most} are taken at most.")
        return most


def _sound(host: str) -> bool:
    return bool(re.fullmatch(r"(\[[0-9a-fA-F:.]+\]|[A-Za-z0-9.-]+)(:\d{1,5})?", host))


def _given(headers: Headers) -> str:
    """The token that a visitor brings: in the cookie, or as a bearer."""
    bearer = headers.get("authorization", "")
    if bearer.lower().startswith("bearer "):
        return bearer[7:].strip()
    try:
        found = SimpleCookie(headers.get("cookie", "")).get(COOKIE)
    except CookieError:
        return ""
    return found.value if found else ""


def _origin(scope: Scope, headers: Headers) -> None:
    """A page of another site may neither write nor read."""
    origin, site = headers.get("origin"), headers.get("sec-fetch-site", "")
    own = headers.get("host", "").lower()
    if origin is not None and urlsplit(origin).netloc.lower() != own:
        raise Refusal(403, f"A page at {origin[:80]!r} asks; only this server's own page may.", "OriginError")
    inside = scope["path"].startswith("/api/") or scope["method"] not in SAFE_METHODS
    if inside and site in ("cross-site", "same-site"):
        raise Refusal(403, "A page of another site asks; only this server's own page may.", "OriginError")


def _counted(receive: Receive, most: int) -> Receive:
    """The body, until it grows too large, whatever length was said."""
    seen = 0

    async def counted() -> Message:
        nonlocal seen
        message = await receive()
        seen += len(message.get("body", b""))
        if seen > most:
            raise Refusal(413, f"More than {most} bytes; that is too much.")
        return message

    return counted


def _with_headers(send: Send) -> Send:
    async def sent(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
            if "cache-control" not in headers:
                headers["cache-control"] = "no-store"
            if "server" in headers:
                del headers["server"]
        await send(message)

    return sent


async def _refuse(refusal: Refusal, scope: Scope, receive: Receive, send: Send) -> None:
    body = error_body(refusal.status, refusal.kind, refusal.message)
    await Plain(body, refusal.status, headers=refusal.headers)(scope, receive, send)
