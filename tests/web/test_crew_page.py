"""The crew's page as it is served: the same for everybody, whole in both languages, and kept by the worker."""

from __future__ import annotations

import re

import pytest
from django.test import Client
from django.urls import reverse

from farm.models import Farm, Membership
from maintenance.views.field_page import SCRIPTS, kept_files, shell
from tests.factories import make_member

pytestmark = pytest.mark.django_db


def page_of(farm: Farm, language: str) -> str:
    """Return the page as a fresh member of the crew with this language gets it."""
    member = make_member(farm, "crew")
    Membership.objects.filter(pk=member.pk).update(language=language)
    client = Client()
    client.force_login(member.user)
    return client.get(reverse("field", args=[farm.slug])).content.decode()


def test_the_page_is_the_same_for_everybody_of_a_language(farm: Farm) -> None:
    pages = {page_of(farm, "es") for _ in range(2)}

    assert len(pages) == 1


def test_the_page_brings_its_words_in_both_languages(farm: Farm) -> None:
    page = page_of(farm, "en")

    for word in ("Which door?", "Danger: keep out"):
        assert f'"{word}"' in page
    assert page.count('"which_door"') == 2


def test_nothing_runs_or_is_styled_inline(farm: Farm) -> None:
    """The content policy would refuse it; a block of data is neither."""
    page = page_of(farm, "en")

    assert re.findall(r"<script(?![^>]*\bsrc=)(?![^>]*application/json)", page) == []
    assert re.findall(r"<style|\sstyle=|\son\w+=", page) == []


def test_the_worker_keeps_all_that_the_page_loads(client: Client, farm: Farm) -> None:
    page, worker = page_of(farm, "en"), client.get("/sw.js").content.decode()

    loaded = re.findall(r'<(?:script src|link rel="stylesheet" href)="([^"]+)"', page)
    assert len(loaded) == len(SCRIPTS) + 1
    assert all(f'"{path}"' in worker for path in loaded)
    assert str(shell()["release"]) in worker
    assert f'data-release="{shell()["release"]}"' in page


def test_the_release_changes_with_every_file(monkeypatch: pytest.MonkeyPatch) -> None:
    before = shell()["release"]
    for cached in (shell, kept_files):
        cached.cache_clear()
    monkeypatch.setattr("maintenance.views.field_page.static", lambda path: f"/static/{path}?changed")

    after = shell()["release"]

    for cached in (shell, kept_files):
        cached.cache_clear()
    assert after != before


@pytest.mark.parametrize("strange", ["../x", "a/b", "%2e", "x" * 80, "ñ", "", "<b>"])
def test_a_manifest_leads_only_to_a_farms_own_page(client: Client, strange: str) -> None:
    answer = client.get("/app.webmanifest", {"farm": strange})

    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/manifest+json"
    assert answer.json()["start_url"] == "/"


def test_a_manifest_is_the_same_whether_a_farm_exists_or_not(farm: Farm) -> None:
    ours, nobodys = (Client().get("/app.webmanifest", {"farm": slug}).json() for slug in (farm.slug, "nobodys"))

    assert ours["start_url"] == reverse("field", args=[farm.slug])
    assert {**ours, "id": "", "start_url": ""} == {**nobodys, "id": "", "start_url": ""}
