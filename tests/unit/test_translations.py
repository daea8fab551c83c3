"""The catalogues hold every text of the program, whole, and are what the program reads."""

import re

import pytest
from django.conf import settings
from django.utils import formats, translation

from farm.translations import catalogue, collect, compiled, missing

LANGUAGES = [language for language, _name in settings.LANGUAGES if language != settings.LANGUAGE_CODE]
PLACE = re.compile(r"%\(\w+\)[sdf]|%[sd]|\{[a-z_:.0-9]*\}|</?[a-z]+")


def key(message):
    return message.context, message.id if isinstance(message.id, str) else message.id[0]


def forms(text):
    return (text,) if isinstance(text, str) else tuple(text)


@pytest.fixture(scope="module")
def texts():
    return collect()


def test_texts_of_templates_modules_and_plurals_are_collected(texts):
    found = {key(message) for message in texts if message.id}

    assert {(None, "Log out"), (None, "in use")} <= found  # a template's, and a model's lazy one
    assert any(isinstance(message.id, tuple) for message in texts)
    assert len(found) > 2000


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_text_is_missing(language, texts):
    kept = catalogue(language)

    assert {key(message) for message in texts if message.id} == {key(message) for message in kept if message.id}
    assert [message.id for message in missing(kept)] == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_translation_loses_a_place_for_a_value(language):
    for message in catalogue(language):
        if not message.id:
            continue
        wanted = [sorted(PLACE.findall(form)) for form in forms(message.id)]
        for number, form in enumerate(forms(message.string)):
            found = sorted(PLACE.findall(form))
            alike = found == wanted[-1] or (number == 0 and set(found) <= set(wanted[-1]))
            assert alike, (message.id, form)


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_program_reads_the_catalogue_of_the_day(language):
    path = settings.LOCALE_PATHS[0] / language / "LC_MESSAGES" / "django.mo"

    assert path.read_bytes() == compiled(catalogue(language)), "run manage.py collect_texts"


def test_numbers_in_spanish_have_a_point_as_the_crew_writes_them():
    """Norma Oficial Mexicana NOM-008-SCFI-2002 as amended in 2009 allows the point; from memory."""
    with translation.override("es"):
        assert formats.number_format(3.5, 1) == "3.5"
