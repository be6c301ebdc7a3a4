from __future__ import annotations

from pathlib import Path

import pytest
from django.core import checks

from tests.page_world import serving

NEEDS_TLS = {"security.W004", "security.W008", "security.W012", "security.W016"}


def complaints() -> set[str]:
    """What Django finds, asked as it is served: only the browser tests need the store beside a loop."""
    with pytest.MonkeyPatch.context() as patch:
        patch.delenv("DJANGO_ALLOW_ASYNC_UNSAFE", raising=False)
        return {str(one.id) for one in checks.run_checks(include_deployment_checks=True)}


def test_behind_tls_django_finds_nothing_to_complain_of(tmp_path: Path) -> None:
    with serving(tmp_path, behind_tls=True):
        assert complaints() == set()


def test_without_tls_only_what_tls_would_bring_is_missing(tmp_path: Path) -> None:
    with serving(tmp_path):
        assert complaints() == NEEDS_TLS


def test_the_tables_are_as_the_models_say(tmp_path: Path) -> None:
    from django.core.management import call_command

    with serving(tmp_path):
        call_command("makemigrations", "web", check=True, dry_run=True, verbosity=0)
