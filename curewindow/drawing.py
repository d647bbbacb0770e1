"""Pictures in files, by matplotlib: one look, the same bytes for the same picture."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from curewindow.errors import CurewindowError
from curewindow.files import write_whole

if TYPE_CHECKING:
    from matplotlib.figure import Figure

Form = Literal["svg", "png"]
_FINER = re.compile(rb"(\d\.\d\d)\d+")


def form_of(path: Path) -> Form:
    """What a file's name says of its form.

    Raises
    ------
    CurewindowError
        It ends in neither .svg nor .png.
    """
    ending = path.suffix.lower()
    if ending == ".svg":
        return "svg"
    if ending == ".png":
        return "png"
    raise CurewindowError(f"{path}: a picture's name ends in .svg or .png")


@contextmanager
def drawing(font: float = 10.0) -> Iterator[None]:
    """The look of all pictures, while one is drawn and saved.

    Parameters
    ----------
    font : float
        Size of letters [pt].

    Raises
    ------
    CurewindowError
        matplotlib is not there.
    """
    try:
        import matplotlib as mpl
    except ImportError:
        raise CurewindowError(
            "SVG and PNG pictures need matplotlib, which is not installed: "
            "pip install 'curewindow[pictures]' (without a file the picture comes in characters)"
        ) from None
    settings = {
        "font.size": font,
        "font.family": ["DejaVu Sans"],
        "svg.fonttype": "none",  # text stays text
        "svg.hashsalt": "curewindow",  # ids do not change from run to run
        "hatch.linewidth": 0.6,
    }
    with mpl.rc_context(settings):  # type: ignore[arg-type]
        yield


def saved(figure: Figure, form: Form, *, dpi: float, title: str, description: str = "") -> bytes:
    """A figure as the bytes of a file, without the date of making.

    Parameters
    ----------
    figure : matplotlib Figure
        Drawn, and saved, within :func:`drawing`.
    form : {'svg', 'png'}
    dpi : float
    title, description : str
        For who reads pictures aloud.
    """
    out = io.BytesIO()
    told: dict[str, str | None] = {"Title": title}
    if form == "svg":
        told |= {"Date": None} | ({"Description": description} if description else {})
    else:
        told["Software"] = None
    figure.savefig(out, format=form, dpi=dpi, metadata=told)
    drawn = out.getvalue()
    # hundredths of a point are finer than any screen: half the size for a phone to fetch
    return drawn if form == "png" else _FINER.sub(rb"\1", drawn)


def write(path: Path, drawn: bytes) -> None:
    """Put a picture into its file.

    Raises
    ------
    CurewindowError
        It cannot be written.
    """
    try:
        write_whole(path, drawn)
    except OSError as bad:
        raise CurewindowError(f"{path}: cannot be written: {bad.strerror}") from None
