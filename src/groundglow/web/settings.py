"""How the page is served: what, where, by whom it may be reached, and how much it takes in."""

from __future__ import annotations

import ipaddress
from dataclasses import dataclass
from pathlib import Path

from groundglow.errors import InputError

__all__ = ["LEAST_TOKEN", "Settings", "is_local"]

#: Shortest token that is taken, characters.
LEAST_TOKEN = 16


@dataclass(frozen=True)
class Settings:
    """Settings of one server.

    Parameters
    ----------
    root : Path
        A job, or a folder whose sub-folders are jobs.
    host : str
        Address that it listens on.
    token : str
        Asked of every visitor; empty on this machine's own address only.
    read_only : bool
        Nothing is changed, nothing is run.
    frames : tuple of Path
        Folders from which flights may be read in place, besides ``root``.
    names : tuple of str
        Host names by which it may be called, besides addresses and ``localhost``.
    most_bytes : int
        Largest upload of one file.
    most_json : int
        Largest request in JSON, bytes.
    workers : int
        Processes of a run; 0 takes one a core.
    secure : bool
        The cookie travels over https only.

    Raises
    ------
    InputError
        When it would listen beyond this machine without a token, or with a short one.

    Examples
    --------
    >>> Settings(Path("jobs"), host="0.0.0.0")
    Traceback (most recent call last):
    groundglow.errors.InputError: 0.0.0.0 can be reached from other machines: give --token, 16 characters or more.
    """

    root: Path
    host: str = "127.0.0.1"
    token: str = ""
    read_only: bool = False
    frames: tuple[Path, ...] = ()
    names: tuple[str, ...] = ()
    most_bytes: int = 256 * 1024 * 1024
    most_json: int = 8 * 1024 * 1024
    workers: int = 0
    secure: bool = False

    def __post_init__(self) -> None:
        """Refuse to be reached from elsewhere without a token."""
        if not self.token and not is_local(self.host):
            raise InputError(
                f"{self.host} can be reached from other machines: give --token, {LEAST_TOKEN} characters or more."
            )
        if self.token and len(self.token) < LEAST_TOKEN:
            raise InputError(f"--token has {len(self.token)} characters; give {LEAST_TOKEN} or more.")


def is_local(host: str) -> bool:
    """Whether an address is this machine's own.

    Examples
    --------
    >>> is_local("127.0.0.1"), is_local("localhost"), is_local("::1"), is_local("192.0.2.7")
    (True, True, True, False)
    """
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False
