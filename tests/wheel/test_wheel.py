"""The wheel alone, in a clean environment, renders the demo squad."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]

pytestmark = pytest.mark.wheel


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel of this checkout, built with the tools of the lock and no network."""
    out = tmp_path_factory.mktemp("dist")
    words = [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(out)]
    subprocess.run([*words, str(ROOT)], check=True, capture_output=True)
    return next(out.glob("*.whl"))


def test_wheel_holds_notebooks_and_template(wheel: Path) -> None:
    """Notebooks, page template, type marker and licence are in it; tests and data are not."""
    names = zipfile.ZipFile(wheel).namelist()
    assert "gripbook/notebooks/block_review.ipynb" in names
    assert "gripbook/notebooks/squad_review.ipynb" in names
    assert "gripbook/notebooks/methods.ipynb" in names
    assert "gripbook/py.typed" in names
    assert any(n.startswith("gripbook/report/page/template/") and n.endswith(".j2") for n in names)
    assert any(n.endswith("licenses/LICENSE") for n in names)
    assert not any(n.startswith(("tests/", "data_demo/", "notebooks/")) for n in names)


def test_wheel_renders_from_a_clean_environment(wheel: Path, tmp_path: Path) -> None:
    """
    Installed without the checkout, `gripbook demo` renders every page.

    The environment sees the locked libraries of this one (to need no download) through a path
    file and a link to their data files, but not the checkout: gripbook comes from the wheel.
    """
    home = tmp_path / "env"
    venv.create(home, with_pip=True)
    python = home / "bin" / "python"
    words = [python, "-m", "pip", "install", "--no-deps", "--no-index", "--quiet", wheel]
    subprocess.run([str(w) for w in words], check=True, capture_output=True)
    site = next((home / "lib").glob("python*/site-packages"))
    libraries = [p for p in sys.path if p.endswith("site-packages")]
    (site / "locked.pth").write_text("\n".join(libraries) + "\n")
    (home / "share").mkdir(exist_ok=True)
    (home / "share" / "jupyter").symlink_to(Path(sys.prefix) / "share" / "jupyter")

    clean = {k: v for k, v in os.environ.items() if k not in ("PYTHONPATH", "VIRTUAL_ENV")}
    where = [python, "-c", "import gripbook; print(gripbook.__file__)"]
    found = subprocess.run(
        [str(w) for w in where], cwd=tmp_path, env=clean, check=True, capture_output=True, text=True
    )
    assert Path(found.stdout.strip()).is_relative_to(site)

    done = subprocess.run(
        [str(home / "bin" / "gripbook"), "demo", "try"],
        cwd=tmp_path,
        env=clean,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    pages = tmp_path / "try" / "pages"
    manifest = json.loads((pages / "run.json").read_text())
    assert len(manifest["pages"]) == 9
    assert all(p["status"] == "rendered" for p in manifest["pages"])
    assert (pages / "index.html").stat().st_size > 1000
