"""README and DEVELOPERS.md keep to what the project does."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from gripbook.cli import main
from gripbook.logs import load_logs
from gripbook.logs.schema import FILES

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_every_command_is_in_the_readme() -> None:
    """The README's table names each command and no other."""
    named = set(re.findall(r"\| `gripbook (\w+)", README))
    assert named == set(main.commands)


def test_the_readme_s_rows_are_good_rows(tmp_path: Path) -> None:
    """The example rows of the tour are read without an error, and mean what the text says."""
    (example,) = re.findall(r"```csv\n(.*?)```", README, flags=re.DOTALL)
    (tmp_path / "hangs.csv").write_text(example)
    rows = dict(re.findall(r"\| `(\w+)\.csv` \| `(kim[^`]+)`", README))
    assert set(rows) == {"athletes", "body", "sessions", "pain"}
    for name, row in rows.items():
        header = ",".join(c.name for c in FILES[name].columns)
        (tmp_path / f"{name}.csv").write_text(f"{header}\n{row}\n")
    logs = load_logs(tmp_path)
    assert logs.problems == ()
    assert len(logs.hangs) == 5
    failed = logs.hangs.iloc[3]
    assert (failed["reps_done"], failed["failed_s"]) == (4, 5)
    assert logs.hangs["scale_kg"].iloc[4] == 18.5


def test_the_readme_s_python_runs(small_logs: Path) -> None:
    """The lines on Python run as they stand, on a small squad."""
    (code,) = re.findall(r"```python\n(import gripbook.*?)```", README, flags=re.DOTALL)
    code = code.replace('"winter"', repr(str(small_logs))).replace('"kim"', '"ada"')
    names: dict[str, Any] = {}
    exec(compile(code, "README.md", "exec"), names)
    tables = names["r"].tables
    assert len(tables.changes)
    assert len(tables.tests)
    chart = names["mine"].to_dict()
    assert {"x", "y", "color", "detail"} == set(chart["encoding"])
    columns = {one["field"] for one in chart["encoding"].values()}
    assert columns <= set(tables.tests.columns)


def test_every_option_named_exists() -> None:
    """What README and DEVELOPERS.md say of gripbook's options is so."""
    options = {name for c in main.commands.values() for p in c.params for name in p.opts}
    ours = re.sub(r"`(?:papermill|jupyter) [^`]*`", "", README)
    named = set(re.findall(r"(?<![\w-])--[a-z][a-z-]+", ours))
    assert named - options == set()


def test_files_named_for_contributors_exist() -> None:
    """Each path in DEVELOPERS.md is there, as it stands or within the package."""
    for name in re.findall(r"`([\w./]+\.(?:py|md|ipynb|lock|toml))`", DEVELOPERS):
        places = [ROOT / name, ROOT / "gripbook" / name, *(ROOT / "gripbook").rglob(name)]
        assert name == "block.toml" or any(place.exists() for place in places), name


def test_every_make_target_is_explained() -> None:
    """Each target of the Makefile stands in DEVELOPERS.md or the README."""
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    targets = set(re.findall(r"^([a-z]+):", makefile, flags=re.MULTILINE)) - {"help"}
    for target in targets:
        assert f"make {target}" in DEVELOPERS + README, target


def test_every_layer_is_explained() -> None:
    """Each folder of the package stands in DEVELOPERS.md."""
    for folder in (ROOT / "gripbook").iterdir():
        if folder.is_dir() and (folder / "__init__.py").exists():
            assert folder.name in DEVELOPERS, folder.name


def test_pictures_of_the_readme_exist() -> None:
    """Each picture the README shows is in the repository, and small."""
    pictures = re.findall(r"!\[[^\]]+\]\(([^)]+)\)", README)
    assert pictures
    for picture in pictures:
        assert (ROOT / picture).stat().st_size < 300_000


def test_the_lock_names_no_host() -> None:
    """The lock file has exact versions with hashes and no address."""
    lock = (ROOT / "requirements.lock").read_text(encoding="utf-8")
    assert "://" not in lock
    pins = re.findall(r"^([a-z0-9._-]+(?:\[[^\]]+\])?)==\S+", lock, flags=re.MULTILINE)
    assert len(pins) > 50
    assert lock.count("--hash=sha256:") > len(pins)
