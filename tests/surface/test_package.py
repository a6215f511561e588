"""The package installs from its sdist and its wheel, with every table, template and picture it reads."""

import os
import subprocess
import sys
import sysconfig
import tarfile
import venv
import zipfile
from pathlib import Path

import pytest

import bloomless

ROOT = Path(bloomless.__file__).parents[2]
SOURCE = ROOT / "src" / "bloomless"

pytestmark = pytest.mark.xdist_group("package")


def run(*command, **options):
    done = subprocess.run(command, capture_output=True, text=True, check=False, **options)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    where = tmp_path_factory.mktemp("dist")
    # Without isolation: the build back-end is in the locked environment, and nothing is fetched.
    run(sys.executable, "-m", "build", "--no-isolation", "--outdir", str(where), str(ROOT))
    return where


def packaged_files():
    return {
        str(path.relative_to(SOURCE.parent))
        for path in SOURCE.rglob("*")
        if path.is_file() and "__pycache__" not in path.parts and path.suffix not in (".pyc", ".nbi", ".nbc")
    }


def test_wheel_and_sdist_hold_every_file(built):
    wheel, sdist = next(built.glob("*.whl")), next(built.glob("*.tar.gz"))
    assert packaged_files() <= set(zipfile.ZipFile(wheel).namelist())
    with tarfile.open(sdist) as archive:
        inside = {name.partition("/src/")[2] for name in archive.getnames() if "/src/" in name}
    assert packaged_files() <= inside


@pytest.mark.parametrize("ending", ["*.whl", "*.tar.gz"])
def test_it_installs_and_runs(built, tmp_path, ending):
    venv.create(tmp_path / "env", with_pip=True, symlinks=True)
    python = tmp_path / "env" / "bin" / "python"
    site = run(str(python), "-c", "import sysconfig; print(sysconfig.get_path('purelib'))").strip()
    # Dependencies come from the environment of the tests; only the package itself is installed anew.
    Path(site, "tests.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    clean = {name: value for name, value in os.environ.items() if name not in ("PYTHONPATH", "COVERAGE_PROCESS_START")}
    package = str(next(built.glob(ending)))
    run(
        str(python),
        "-m",
        "pip",
        "install",
        "--quiet",
        "--no-deps",
        "--no-build-isolation",
        "--no-index",
        package,
        env=clean,
    )
    command = str(tmp_path / "env" / "bin" / "bloomless")
    assert run(command, "--version", env=clean, cwd=tmp_path).startswith("bloomless ")
    where = run(str(python), "-c", "import bloomless; print(bloomless.__file__)", env=clean, cwd=tmp_path)
    assert str(tmp_path) in where
    assert "required" in run(command, "schema", "--defaults", env=clean, cwd=tmp_path)
