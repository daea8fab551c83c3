"""What phones ask for and send by script: JSON whatever goes wrong, never a redirect, and a bundle that is small."""

from __future__ import annotations

import gzip
import json
import re
import uuid
from datetime import timedelta
from io import BytesIO
from xml.etree import ElementTree

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from farm.models import Farm, KnownPhone, Membership
from maintenance.field.reading import MOST_BYTES
from maintenance.models import FieldEntry, Label, NearMiss, Photo, Reminder, Repair, VoiceNote
from maintenance.work.faults import mend
from tests.factories import make_component, make_farm, make_material, make_member, make_opening, make_tunnel, make_wall
from tests.field_rows import entry
from tests.hands_rows import make_storm, make_task, picture_file
from tests.upkeep_rows import make_job, make_plan, make_routine

pytestmark = pytest.mark.django_db
NAMES = ("field-bundle", "field-token", "field-entries", "field-photos", "field-voices")
LARGEST = 300_000  # octets of the demo farm's bundle before it is packed


@pytest.fixture
def farm():
    return make_farm(name="Hollow", slug="hollow")


@pytest.fixture
def crew(farm, client):
    member = make_member(farm, "crew")
    client.force_login(member.user)
    return member


@pytest.fixture
def door(farm):
    return make_opening(make_wall(make_tunnel(farm, code="T08")), code="T08-W")


def url(name, slug="hollow"):
    return reverse(name, args=[slug])


def post(client, *entries, **fields):
    body = {"sent_at": timezone.now().isoformat(), "entries": list(entries), **fields}
    return client.post(url("field-entries"), body, content_type="application/json")


def made(kind, **fields):
    return entry(kind, made_at=timezone.now() - timedelta(minutes=2), **fields)


def bundle(client):
    answer = client.get(url("field-bundle"))
    assert answer.status_code == 200, answer.content
    return answer.json()


# Who, what, how much ------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("method", ["get", "post"])
def test_logged_out_is_said_in_json_with_the_way_in(client, farm, name, method):
    answer = getattr(client, method)(url(name))

    told = answer.json()
    assert answer.status_code == 401
    assert told["error"]
    assert told["now"]
    assert client.get(told["login"]).status_code == 200


@pytest.mark.parametrize("name", NAMES[2:])
def test_a_viewer_may_send_nothing(client, farm, name):
    client.force_login(make_member(farm, "viewer").user)

    answer = client.post(url(name))

    assert (answer.status_code, bool(answer.json()["error"])) == (403, True)
    assert client.get(url("field-bundle")).status_code == 200


@pytest.mark.parametrize("name", NAMES)
def test_another_farm_is_not_there(client, crew, name):
    make_farm(slug="elsewhere")

    there, nowhere = (client.generic(method, url(name, slug)) for slug in ("elsewhere", "nowhere")
                      for method in ["GET" if name in NAMES[:2] else "POST"])  # fmt: skip

    assert (there.status_code, nowhere.status_code) == (404, 404)
    assert there.json()["error"] == nowhere.json()["error"]


def test_a_stale_token_is_said_and_a_fresh_one_works(farm, crew, door):
    phone = Client(enforce_csrf_checks=True)
    phone.force_login(crew.user)
    sent = {"sent_at": timezone.now().isoformat(), "entries": [made("secured", door=door.pk)]}
    stale = phone.get(url("field-token")).json()["csrf"]
    phone.cookies["gablekeep_csrf"] = "x" * 32  # as after another log-in
    ask = {"data": sent, "content_type": "application/json"}

    without = phone.post(url("field-entries"), **ask)
    refused = phone.post(url("field-entries"), **ask, headers={"x-csrftoken": stale})
    fresh = phone.get(url("field-token"))
    taken = phone.post(url("field-entries"), **ask, headers={"x-csrftoken": fresh.json()["csrf"]})

    assert [one.status_code for one in (without, refused, taken)] == [403, 403, 200]
    assert without.json()["csrf"] is refused.json()["csrf"] is True
    assert "no-store" in fresh["Cache-Control"]
    assert fresh.json()["person"]["id"] == crew.user_id
    assert FieldEntry.objects.count() == 1


@pytest.mark.parametrize(
    "body",
    [b"", b"{", b"[]", b'"x"', b"{}", b'{"entries": {}}', b'{"entries": NaN}', b"\xff\xfe", b"[" * 100_000,
     b'{"entries": [' + b"9" * 5000 + b"]}"],
    ids=range(10),
)  # fmt: skip
def test_what_is_no_parcel_is_refused_whole(client, crew, body):
    answer = client.post(url("field-entries"), body, content_type="application/json")

    assert (answer.status_code, bool(answer.json()["error"])) == (400, True)
    assert FieldEntry.objects.count() == 0


def test_too_many_entries_and_too_many_octets_are_refused(client, crew):
    many = post(client, *(made("secured") for _one in range(101)))
    large = post(client, made("secured", text="x" * MOST_BYTES))

    assert (many.status_code, large.status_code) == (400, 413)
    assert many.json()["error"]
    assert large.json()["error"]
    assert FieldEntry.objects.count() == 0


def test_every_entry_is_answered_by_its_own_number(client, crew, door):
    sent = [made("needs_part", door=door.pk), made("secured", door=10**9), {"kind": "secured", "id": "no number"}, 7]

    answer = post(client, *sent)

    told = answer.json()
    assert [one["id"] for one in told["entries"]] == [sent[0]["id"], sent[1]["id"], "no number", None]
    assert [one["state"] for one in told["entries"]] == ["taken", "unread", "unread", "unread"]
    assert told["entries"] == post(client, *sent).json()["entries"]
    assert FieldEntry.objects.count() == 4


def test_the_phone_it_came_from_is_kept(client, crew, farm):
    now = timezone.now()
    phone = KnownPhone.objects.create(farm=farm, user=crew.user, token_hash="0" * 64, made_at=now, seen_at=now)
    session = client.session
    session["known_phone"] = phone.pk
    session.save()
    nameless = made("near_miss", text="slipped", anonymous=True)

    post(client, made("secured"), nameless)

    assert dict(FieldEntry.objects.values_list("kind", "phone")) == {"secured": phone.pk, "near_miss": None}
    assert NearMiss.objects.get().by is None


# Pictures and voices ------------------------------------------------------------------------


def send_file(client, name, sent, upload, key=None, **fields):
    key = key or str(uuid.uuid4())
    return client.post(url(name), {"key": key, "entry": sent["id"], "file": upload, **fields})


def test_a_picture_is_kept_upright_without_what_the_camera_wrote(client, crew, door):
    exif = Image.Exif()
    exif[0x0112], exif[0x010F] = 6, "Secret Camera"  # lies on its side, Exif 2.32, 4.6.4
    exif.get_ifd(0x8825)[2] = (42.0, 30.0, 36.0)  # where it was taken
    sent, key = made("danger", door=door.pk), str(uuid.uuid4())
    post(client, sent)

    answers = [send_file(client, "field-photos", sent, picture_file("JPEG", (400, 200), exif=exif), key,
                         moment="before", taken_at=timezone.now().isoformat()) for _again in range(2)]  # fmt: skip

    photo = Photo.objects.get()
    assert [one.status_code for one in answers] == [200, 200]
    assert {one.json()["key"] for one in answers} == {key}
    assert (photo.width, photo.height, photo.moment, photo.repair) == (200, 400, "before", Repair.objects.get())
    with photo.file.open("rb") as file, Image.open(file) as kept:
        assert not kept.getexif()
        assert b"Secret" not in file.read()


@pytest.mark.parametrize("is_anonymous", [False, True])
def test_a_farm_may_keep_what_the_camera_wrote_but_never_of_one_without_a_name(client, crew, door, is_anonymous):
    """Exif 2.32, 4.6.4 to 4.6.6: Make, Orientation, and degrees, minutes and seconds of the latitude."""
    Farm.objects.filter(pk=crew.farm_id).update(keeps_photo_data=True)
    exif = Image.Exif()
    exif[0x0112], exif[0x010F] = 6, "Camera"
    exif.get_ifd(0x8825)[2] = (42.0, 30.0, 36.0)
    sent = made("near_miss", text="nearly", anonymous=True) if is_anonymous else made("danger", door=door.pk)
    post(client, sent)

    answer = send_file(client, "field-photos", sent, picture_file("JPEG", (400, 200), exif=exif))

    assert answer.status_code == 200
    photo = Photo.objects.get()
    assert (photo.width, photo.height) == (200, 400)
    with photo.file.open("rb") as file, Image.open(file) as kept:
        data = kept.getexif()
        assert 0x0112 not in data  # it is upright by itself
        assert (data.get(0x010F), data.get_ifd(0x8825).get(2)) == (
            (None, None) if is_anonymous else ("Camera", (42, 30, 36))
        )


def test_a_picture_as_an_iphone_takes_it_is_kept(client, crew):
    sent = made("secured")
    post(client, sent)

    answer = send_file(client, "field-photos", sent, picture_file("HEIF", (64, 48)))

    assert answer.status_code == 200
    assert (Photo.objects.get().width, Photo.objects.get().height) == (64, 48)


@pytest.mark.parametrize(
    ("name", "content", "status"),
    [
        ("field-photos", b"<svg xmlns='http://www.w3.org/2000/svg'/>", 400),
        ("field-photos", b"\x89PNG\r\n\x1a\n truncated", 400),
        ("field-photos", b"", 400),
        ("field-photos", b"\0" * (13 * 1024 * 1024), 413),
        ("field-voices", b"<script>alert(1)</script>", 400),
        ("field-voices", b"", 400),
        ("field-voices", b"OggS\x00" + b"\0" * (6 * 1024 * 1024), 413),
    ],
)
def test_a_file_that_cannot_be_kept_is_refused_in_a_sentence(client, crew, name, content, status):
    sent = made("secured")
    post(client, sent)

    answer = send_file(client, name, sent, SimpleUploadedFile("a.jpg", content, "image/jpeg"))

    assert (answer.status_code, answer["Content-Type"]) == (status, "application/json")
    assert len(answer.json()["error"]) > 20
    assert not Photo.objects.exists()
    assert not VoiceNote.objects.exists()


def test_a_file_without_a_number_or_before_its_entry_waits(client, crew):
    sent = made("secured")

    early = send_file(client, "field-photos", sent, picture_file())
    post(client, sent)
    nameless = send_file(client, "field-photos", sent, picture_file(), key="7")

    assert (early.status_code, nameless.status_code) == (409, 400)


def test_a_voice_is_served_as_what_it_is(client, crew, farm, door):
    sent = made("danger", door=door.pk)
    post(client, sent)
    content = b"RIFF\x24\x00\x00\x00WAVEfmt " + b"\0" * 28

    answer = send_file(client, "field-voices", sent, SimpleUploadedFile("x.html", content, "text/html"))

    note = VoiceNote.objects.get()
    served = client.get(reverse("voice", args=["hollow", note.pk]))
    assert answer.status_code == 200
    assert (served["Content-Type"], served["X-Content-Type-Options"]) == ("audio/wav", "nosniff")
    assert "html" not in served["Content-Disposition"]
    assert note.file.name.endswith(".wav")


# What a phone carries ------------------------------------------------------------------------


def test_a_phone_carries_what_a_day_needs(client, crew, farm, door):
    now, tunnel = timezone.now(), door.end_wall.tunnel
    today = timezone.localdate(timezone=farm.zone)
    part = make_component(door, kind="gearbox", spot="left post")
    Label.objects.create(farm=farm, token="ABCDE23456", opening=door, made_at=now)
    Label.objects.create(farm=farm, token="WALL234567", end_wall=door.end_wall, made_at=now)
    Label.objects.create(farm=farm, token="GONE234567", tunnel=tunnel, made_at=now, revoked_at=now)
    dates = {"due_on": today, "until_on": today + timedelta(days=3)}
    job = make_job(make_plan(make_routine(farm, checklist={"en": ["Look", "Touch"]}), door), **dates,
                   assigned_to=crew.user)  # fmt: skip
    far = make_job(make_plan(make_routine(farm), door), due_on=today, until_on=today + timedelta(days=40))
    storm = make_storm(farm)
    task = make_task(storm, opening=door, assigned_to=crew.user)
    material = make_material(farm, name="spring wire")
    stranger = make_job(make_plan(make_routine(make_farm())), **dates)
    post(client, made("danger", door=door.pk, text="hangs by one end"))

    told = bundle(client)

    [carried], [its_tunnel] = told["doors"], told["tunnels"]
    assert (carried["id"], carried["code"], carried["labels"]) == (door.pk, "T08-W", ["ABCDE23456"])
    assert (its_tunnel["labels"], its_tunnel["code"]) == (["WALL234567"], "T08")
    assert carried["parts"][0]["name"].endswith("left post")
    assert carried["parts"][0]["fitted_on"] == part.fitted_on.isoformat()
    assert carried["danger"]["text"] == "hangs by one end"
    assert carried["repairs"][0]["state"] == "open"
    assert told["storm"]["id"] == storm.pk
    assert (told["storm"]["tasks"][0]["id"], told["storm"]["tasks"][0]["mine"]) == (task.pk, True)
    assert told["storm"]["tasks"][0]["steps"]
    jobs = {one["id"]: one for one in told["jobs"]}
    assert jobs.keys() == {job.pk, Repair.objects.get().job_id}
    assert not {far.pk, stranger.pk} & jobs.keys()
    assert (jobs[job.pk]["checklist"], jobs[job.pk]["mine"]) == (["Look", "Touch"], True)
    assert {"id": material.pk, "name": "Spring wire", "left": "0", "unit": ""} in told["store"]
    assert told["person"]["id"] == crew.user_id
    assert told["near_places"] == {str(door.pk): []}


def test_drawings_are_small_and_hold_nothing_that_runs(client, crew, door):
    text = bundle(client)["doors"][0]["drawing"]

    tags = {node.tag.rpartition("}")[2] for node in ElementTree.fromstring(text).iter()}  # noqa: S314 - our own
    assert tags <= {"svg", "title", "desc", "path", "text"}
    assert not re.search(r"\s(on\w+|style|href)=", text)
    assert len(text) < 4096


def test_a_phone_fetches_again_only_what_has_changed(client, crew, door):
    first = client.get(url("field-bundle"))
    same = client.get(url("field-bundle"), headers={"if-none-match": first["ETag"]})
    weak = client.get(url("field-bundle"), headers={"if-none-match": f'"x", {first["ETag"]}'})
    post(client, made("danger", door=door.pk))
    changed = client.get(url("field-bundle"), headers={"if-none-match": first["ETag"]})

    assert [one.status_code for one in (first, same, weak, changed)] == [200, 304, 304, 200]
    assert same.content == b""
    assert changed["ETag"] != first["ETag"]
    assert first.json()["version"] in first["ETag"]
    assert "private" in first["Cache-Control"]


def test_two_people_of_one_farm_carry_different_versions(client, crew, farm):
    other = Client()
    other.force_login(make_member(farm, "manager").user)

    assert client.get(url("field-bundle"))["ETag"] != other.get(url("field-bundle"))["ETag"]


def test_a_phone_carries_nothing_of_another_farm(client, crew, door):
    other = make_opening(make_wall(make_tunnel(make_farm(name="STRANGE"), code="STRANGE")), code="STRANGE-W")
    make_component(other, spot="STRANGE")
    make_material(other.farm, name="STRANGE")
    make_task(make_storm(other.farm), opening=other)

    text = json.dumps(bundle(client))

    assert "T08-W" in text
    assert "STRANGE" not in text


def test_the_queries_of_a_bundle_do_not_grow_with_the_farm(client, crew, farm, door, django_assert_max_num_queries):
    for _one in range(6):
        more = make_opening(make_wall(make_tunnel(farm)))
        make_component(more)
        make_job(make_plan(make_routine(farm), more), due_on=timezone.localdate(), until_on=timezone.localdate())
        post(client, made("danger", door=more.pk))

    with django_assert_max_num_queries(22):
        told = bundle(client)

    assert len(told["doors"]) == 7


def test_words_come_in_the_persons_language(client, crew, farm, door):
    make_task(make_storm(farm), opening=door)
    Membership.objects.filter(pk=crew.pk).update(language="es")

    told = bundle(client)

    assert told["person"]["language"] == "es"
    assert told["storm"]["tasks"][0]["title"] == "Cerrar la puerta de plástico"
    assert "falta una pieza o herramienta" in told["reasons"]


# The managers' page, and danger on every page ------------------------------------------------


@pytest.fixture
def manager(farm, crew):
    there = Client()
    there.force_login(make_member(farm, "manager").user)
    return there


def test_what_does_not_fit_is_shown_to_managers_until_it_is_settled(client, manager, crew, farm, door):
    storm = make_storm(farm)
    task = make_task(storm, opening=door)
    other = Client()
    first = make_member(farm, "crew")
    other.force_login(first.user)
    post(other, made("secured", task=task.pk))
    late = {**made("secured", task=task.pk), "made_at": (timezone.now() + timedelta(hours=3)).isoformat()}
    post(client, late, sent_at=(timezone.now() + timedelta(hours=3)).isoformat())
    page = url("field-beside")

    shown = manager.get(page).content.decode()
    notice = manager.get(url("plan")).content.decode()
    answer = manager.post(page, {"entry": late["id"]})
    again = manager.post(page, {"entry": late["id"]}, follow=True).content.decode()
    settled = manager.get(page).content.decode()

    assert "T08-W" in shown
    assert f"by {first.user.username}" in shown  # what stood there already
    assert crew.user.username in shown
    assert "3 hours ahead" in shown
    assert page in notice
    assert answer.status_code == 302
    assert "has settled this already" in again
    assert 'name="entry"' not in settled
    assert crew.user.username in settled
    assert "do not fit" not in manager.get(url("plan")).content.decode()
    assert page not in client.get(url("plan")).content.decode()  # the crew is not asked


def test_managers_settle_nothing_of_another_farm(manager, crew):
    stranger = Client()
    elsewhere = make_farm(slug="elsewhere")
    stranger.force_login(make_member(elsewhere, "crew").user)
    odd = made("secured", door=1)
    stranger.post(url("field-entries", "elsewhere"), {"entries": [odd]}, content_type="application/json")

    assert manager.post(url("field-beside"), {"entry": odd["id"]}).status_code == 404
    assert manager.post(url("field-beside"), {"entry": "rubbish"}).status_code == 404
    assert FieldEntry.objects.get().seen_at is None


@pytest.mark.parametrize("role", ["viewer", "crew", "manager"])
def test_danger_stands_on_every_page_until_its_repair_is_closed(client, farm, crew, door, role):
    reader = Client()
    reader.force_login(make_member(farm, role).user)
    post(client, made("danger", door=door.pk, text="bar hangs by one end"))
    repair = Repair.objects.get()
    make_task(make_storm(farm), opening=door)
    pages = [url(name) for name in ("plan", "due", "parts", "store", "year", "storms")]
    pages += [door.get_absolute_url(), door.end_wall.tunnel.get_absolute_url()]

    marked = [reader.get(page).content.decode() for page in pages]
    mend(repair=repair, by=crew.user, now=timezone.now(), on=timezone.localdate(timezone=farm.zone))
    clear = [reader.get(page).content.decode() for page in pages]

    for page in marked:
        assert "signal-danger" in page
        assert "bar hangs by one end" in page
        assert reverse("repair", args=["hollow", repair.pk]) in page
    assert "danger-here" in marked[1]  # at the row of its job
    assert "danger-here" in marked[6]
    assert not any("signal-danger" in page or "danger-here" in page for page in clear)


def test_a_danger_does_not_mark_the_door_at_the_other_end(client, crew, farm, door):
    other = make_opening(make_wall(door.end_wall.tunnel, end="A"), code="T08-E")
    post(client, made("danger", door=door.pk))

    page = client.get(other.get_absolute_url()).content.decode()

    assert "signal-danger" in page  # as on every page
    assert "danger-here" not in page


def test_the_plan_marks_the_tunnel(client, crew, farm, door):
    tunnel = door.end_wall.tunnel
    type(tunnel).objects.filter(pk=tunnel.pk).update(east_mm=10_000, north_mm=20_000)
    before = client.get(url("plan")).content.decode()

    post(client, made("danger", tunnel=tunnel.pk))

    after = client.get(url("plan")).content.decode()
    assert ("danger-outline" in before, "danger-outline" in after) == (False, True)
    assert "Danger: keep out." in after


def test_a_manager_hears_of_danger_by_the_outbox(client, crew, farm, door):
    member = make_member(farm, "manager")
    member.user.email = "ines@farm.example"
    member.user.save()

    post(client, made("danger", door=door.pk, text="bar hangs"))

    reminder = Reminder.objects.get()
    assert (reminder.membership, reminder.kind) == (member, "now")
    assert client.get(reminder.path).status_code == 200


# The demo farm ------------------------------------------------------------------------


@pytest.fixture
def demo():
    from maintenance.demo.load import load_demo_farm

    return load_demo_farm(on=timezone.localdate())


@pytest.mark.parametrize("language", ["en", "es"])
def test_the_demo_farms_bundle_is_small_in_both_languages(demo, language):
    member = Membership.objects.filter(farm=demo, role="crew").order_by("pk").first()
    Membership.objects.filter(pk=member.pk).update(language=language)
    phone = Client()
    phone.force_login(member.user)

    plain = phone.get(url("field-bundle", demo.slug))
    packed = phone.get(url("field-bundle", demo.slug), headers={"accept-encoding": "gzip"})

    told = plain.json()
    assert (len(told["tunnels"]), len(told["doors"])) == (12, 30)  # the demo farm as its story tells it
    assert told["person"]["language"] == language
    assert all(one["drawing"] for one in told["doors"])
    assert len(plain.content) < LARGEST
    assert packed["Content-Encoding"] == "gzip"
    assert len(packed.content) < len(plain.content) / 5
    assert json.loads(gzip.GzipFile(fileobj=BytesIO(packed.content)).read())["version"] == told["version"]
