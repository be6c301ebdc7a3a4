"""A keeper at the command line: a folder of their own, and a runner with a stand-in for the simulation."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner

from backreef.cli.app import backreef
from backreef.usecases import forecast as usecase
from tests.cli_world import BAD_PLAN, GOOD_PLAN, Done, stand_in

Run = Callable[..., Done]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch) -> Run:
    """Runs a command in this process."""
    monkeypatch.setattr(usecase, "default_judge", lambda: stand_in)

    def invoke(*arguments: str | Path) -> Done:
        result = CliRunner().invoke(backreef, [str(argument) for argument in arguments])
        return Done(code=result.exit_code, out=result.stdout, err=result.stderr)

    return invoke


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The keeper's folder, in which every command runs."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "plan.toml").write_text(GOOD_PLAN, encoding="utf-8")
    (tmp_path / "breaks.toml").write_text(GOOD_PLAN.replace("Test tank", "breaks"), encoding="utf-8")
    (tmp_path / "bad.toml").write_text(BAD_PLAN, encoding="utf-8")
    return tmp_path
