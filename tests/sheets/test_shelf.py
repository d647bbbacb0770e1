"""Finding and loading: own sheets win, only the one asked for is read, misses name the nearest."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from curewindow.errors import NotFoundError, SheetError
from curewindow.sheets import shelf
from curewindow.sheets.shelf import find_products_dir, get_sheet, inspect, load_sheet, names


def _copy(stem: str, to: Path, *changes: tuple[str, str]) -> None:
    text = (find_products_dir() / f"{stem}.toml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    to.write_text(text, encoding="utf-8")


def test_own_sheets_win_over_the_shelf(tmp_path: Path) -> None:
    _copy(
        "oil-varnish",
        tmp_path / "oil-varnish.toml",
        ("typical of the kind, from memory", "tin label"),
    )
    _copy("oil-varnish", tmp_path / "my-varnish.toml")
    loaded = get_sheet("oil-varnish", tmp_path)
    assert loaded.own
    assert loaded.path == tmp_path / "oil-varnish.toml"
    assert loaded.sheet.basis == "tin label"
    assert not loaded.sheet.typical
    assert not get_sheet("oil-varnish").own
    listed = {entry.name: entry.own for entry in names(tmp_path)}
    assert listed["oil-varnish"]
    assert listed["my-varnish"]
    assert not listed["alkyd-enamel"]
    assert list(listed) == sorted(listed)
    assert len(listed) == len(names()) + 1


def test_own_folder_need_not_be_there(tmp_path: Path) -> None:
    assert names(tmp_path / "sheets") == names()


def test_only_the_sheet_asked_for_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "broken.toml").write_text("no", encoding="utf-8")
    read: list[Path] = []
    whole = shelf.parse_file

    def noting(path: Path, *others: object) -> object:
        read.append(path)
        return whole(path, *others)  # type: ignore[arg-type]

    monkeypatch.setattr(shelf, "parse_file", noting)
    assert get_sheet("alkyd-enamel", tmp_path).stem == "alkyd-enamel"
    assert len(read) == 1


@pytest.mark.parametrize(
    ("wrong", "nearest"),
    [
        ("oil-varnsh", "oil-varnish"),
        ("Oil Varnish", "oil-varnish"),
        ("epoxy_resin_fast.toml", "epoxy-resin-fast"),
    ],
)
def test_a_miss_names_the_nearest(wrong: str, nearest: str) -> None:
    with pytest.raises(NotFoundError, match=f"did you mean '{nearest}'"):
        get_sheet(wrong)


def test_a_sheet_with_errors_is_refused_with_file_key_and_text(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    _copy("alkyd-enamel", path, ('air = { min = "5 °C", max', 'air = { min = "50 °C", max'))
    with pytest.raises(SheetError) as bad:
        get_sheet("mine", tmp_path)
    assert str(bad.value).startswith(f"{path}: applying.air.min: ")
    assert "(and 1 more)" in str(bad.value)
    assert "\n" not in str(bad.value)
    with pytest.raises(SheetError):
        load_sheet(path)


def test_warnings_are_kept(tmp_path: Path) -> None:
    _copy("alkyd-enamel", tmp_path / "mine.toml", ('above_dew_point = "3 K"\n', ""))
    (finding,) = get_sheet("mine", tmp_path).warnings
    assert finding.key == "applying.above_dew_point"


def test_inspect_tells_everything(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    _copy("alkyd-enamel", path, ('"20 h"', "20"), ("kind =", "knid ="))
    assert [finding.key for finding in inspect(path)] == ["knid", "kind", "cure.touch_dry[1]"]
    path.write_text("=", encoding="utf-8")
    (finding,) = inspect(path)
    assert "not valid TOML" in finding.text


def test_products_beside_the_package_come_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    package = tmp_path / "curewindow"
    (package / "sheets").mkdir(parents=True)
    monkeypatch.setattr(shelf, "__file__", str(package / "sheets" / "shelf.py"))
    with pytest.raises(NotFoundError, match="not installed"):
        find_products_dir()
    for folder in (tmp_path / "products", package / "_products"):
        folder.mkdir()
        (folder / shelf.SCHEMA_FILE).write_text("{}", encoding="utf-8")
        assert find_products_dir() == folder


def test_loading_a_sheet_imports_no_heavy_library() -> None:
    code = (
        "import sys; from curewindow.sheets.shelf import get_sheet; get_sheet('oil-varnish');"
        "bad = {'pandas', 'httpx', 'rich', 'click', 'tomlkit'} & set(sys.modules);"
        "sys.exit(f'imported {bad}' if bad else 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
