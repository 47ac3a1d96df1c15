"""Writing without loss: beside the place first, then renamed into it."""

from __future__ import annotations

import pathlib

from camkit.errors import Finding, InputError

__all__ = ["Content", "folder_at", "made_here", "put", "put_new"]

Content = str | bytes

# Every page, picture and report of ours says so near its beginning or its end.
_SIGN = b"camkit"
_NEAR = 4096


def _refused(place: pathlib.Path, error: OSError) -> InputError:
    return InputError(
        Finding(
            "error",
            "cannot-write",
            f"cannot be written: {error.strerror or error}",
            "Name another folder with --out, or mend the folder's rights",
            file=str(place),
        )
    )


def folder_at(place: pathlib.Path) -> pathlib.Path:
    """The folder, made where it is missing; raises InputError when something else stands there."""
    try:
        place.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise _refused(place, error) from error
    return place


def made_here(place: pathlib.Path) -> bool:
    """Whether a page, picture or report was made by camkit, and so may be replaced; never for a folder.

    Raises InputError when the file cannot be read.
    """
    if not place.is_file():
        return False
    try:
        content = place.read_bytes()
    except OSError as error:
        raise _refused(place, error) from error
    return _SIGN in content[:_NEAR] or _SIGN in content[-_NEAR:]


def put(place: pathlib.Path, content: Content) -> pathlib.Path:
    """Write a file whole or not at all: what was there before stays until the new one is complete."""
    aside = place.with_name(f".{place.name}.new")
    try:
        aside.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
        aside.replace(place)
    except OSError as error:
        aside.unlink(missing_ok=True)
        raise _refused(place, error) from error
    return place


def put_new(place: pathlib.Path, content: str) -> pathlib.Path:
    """Write a file that must not be there yet; raises InputError when it is."""
    if place.exists():
        raise InputError(
            Finding("error", "exists", "is there already and is kept", "Name another folder", file=str(place))
        )
    folder_at(place.parent)
    return put(place, content)
