"""The crew's plan in rows, ticks, the film, opening again, and pictures."""

from __future__ import annotations

import io
from datetime import UTC, datetime, time, timedelta
from pathlib import Path

import pillow_heif
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from maintenance.hands import film, placing, reopening, ticking
from maintenance.hands.film import FilmError
from maintenance.hands.photos import PhotoError, bytes_of, keep_photo
from maintenance.hands.placing import PlacingError
from maintenance.hands.plan import write_plan
from maintenance.hands.texts import KINDS, STEPS
from maintenance.hands.ticking import TickError
from maintenance.models import FilmDecision, Photo, Reminder, Reopening, Repair, Storm, StormTask
from maintenance.storm.steps import DOOR_STEPS, OTHER_STEPS
from maintenance.words.said import person
from maintenance.work.faults import log_fault, mend
from tests.factories import make_farm, make_member, make_tunnel
from tests.hands_rows import DEADLINE, MORNING, here, make_storm, make_task, picture_file

pytestmark = pytest.mark.django_db


@pytest.fixture
def farm():
    return make_farm()


@pytest.fixture
def crew(farm):
    return [make_member(farm, "crew") for _ in range(2)]


@pytest.fixture
def storm(farm, crew):
    storm = make_storm(farm)
    for member in crew:
        here(storm, member)
    return storm


def planned(storm):
    return list(storm.tasks.filter(state="open").order_by("position"))


# The plan ------------------------------------------------------------------------


def test_windward_and_critical_comes_first(storm):
    calm = make_task(storm)
    windward = make_task(storm, is_windward=True)
    both = make_task(storm, is_windward=True, is_critical=True)

    write_plan(storm=storm, now=MORNING)

    begins = {task.pk: task.begins_at for task in planned(storm)}
    assert begins[both.pk] <= begins[windward.pk] <= begins[calm.pk]
    assert planned(storm)[0] == both
    assert all(task.assigned_to_id for task in planned(storm))


def test_what_does_not_fit_is_left_out_least_harm_first(storm, crew):
    storm.people.update(works_until=time(9))  # two people, an hour each
    storm.start_by_at = MORNING
    light = [make_task(storm, minutes=30, key=f"light-{number}") for number in range(4)]
    heavy = [make_task(storm, minutes=30, is_windward=True, key=f"heavy-{number}") for number in range(2)]

    write_plan(storm=storm, now=MORNING)

    rows = {task.key: task for task in planned(storm)}
    assert not any(rows[task.key].is_left_out for task in heavy)
    left = [rows[task.key] for task in light if rows[task.key].is_left_out]
    assert len(left) >= 2  # four half hours, less the ways between
    assert all(task.assigned_to is None and task.begins_at is None for task in left)


def test_nobody_plans_past_the_deadline(storm):
    tasks = [make_task(storm, minutes=120) for _ in range(12)]

    write_plan(storm=storm, now=DEADLINE - timedelta(hours=3))

    fits = [task for task in planned(storm) if not task.is_left_out]
    assert all(task.begins_at + timedelta(minutes=task.minutes) <= DEADLINE for task in fits)
    assert len(fits) < len(tasks)


def test_two_do_a_job_for_two(storm, crew):
    make_task(storm, people=2, minutes=12)

    write_plan(storm=storm, now=MORNING)

    task = storm.tasks.get()
    assert {task.assigned_to, task.second} == {member.user for member in crew}


def test_who_is_not_here_gets_nothing(storm, crew):
    storm.people.filter(membership=crew[0]).update(is_here=False)
    make_task(storm)
    make_task(storm)

    write_plan(storm=storm, now=MORNING)

    assert {task.assigned_to for task in planned(storm)} == {crew[1].user}


def test_a_second_plan_of_the_same_changes_nothing(storm):
    for _ in range(6):
        make_task(storm)
    write_plan(storm=storm, now=MORNING)
    before = list(storm.tasks.order_by("pk").values())

    write_plan(storm=storm, now=MORNING)

    assert list(storm.tasks.order_by("pk").values()) == before


def test_planning_takes_the_same_queries_for_more_tasks(
    storm, django_assert_num_queries, django_assert_max_num_queries
):
    make_task(storm)
    make_task(storm)
    write_plan(storm=storm, now=MORNING)
    with django_assert_max_num_queries(20) as few:
        write_plan(storm=storm, now=MORNING)
    for _ in range(5):
        make_task(storm)
    write_plan(storm=storm, now=MORNING)

    with django_assert_num_queries(len(few.captured_queries)):
        write_plan(storm=storm, now=MORNING)


def test_what_was_moved_by_hand_stays(storm, crew):
    storm.people.filter(membership=crew[1]).update(is_here=False)
    for _ in range(4):
        make_task(storm)
    write_plan(storm=storm, now=MORNING)
    first, second, *_rest = placing.tasks_of(storm, crew[0].user)

    placing.move(task=second, up=True, now=MORNING)

    assert [task.pk for task in placing.tasks_of(storm, crew[0].user)][:2] == [second.pk, first.pk]
    urgent = make_task(storm, is_windward=True, is_critical=True)
    write_plan(storm=storm, now=MORNING)
    assert [task.pk for task in placing.tasks_of(storm, crew[0].user)][:3] == [second.pk, first.pk, urgent.pk]


def test_what_was_given_by_hand_stays_with_that_person(storm, crew):
    for _ in range(4):
        make_task(storm)
    write_plan(storm=storm, now=MORNING)
    task = placing.tasks_of(storm, crew[0].user)[-1]

    placing.give(task=task, to=crew[1].user, now=MORNING)
    write_plan(storm=storm, now=MORNING)

    task.refresh_from_db()
    assert task.assigned_to == crew[1].user
    assert task.is_pinned


def test_a_task_goes_back_to_the_plan_when_its_person_leaves(storm, crew):
    task = make_task(storm)
    write_plan(storm=storm, now=MORNING)
    placing.give(task=task, to=crew[1].user, now=MORNING)
    storm.people.filter(membership=crew[1]).update(is_here=False)

    write_plan(storm=storm, now=MORNING)

    task.refresh_from_db()
    assert task.assigned_to == crew[0].user
    assert not task.is_pinned


def test_the_first_task_goes_no_further_up(storm, crew):
    task = make_task(storm)
    write_plan(storm=storm, now=MORNING)
    task.refresh_from_db()

    with pytest.raises(PlacingError):
        placing.move(task=task, up=True, now=MORNING)


# Ticks ---------------------------------------------------------------------------


def test_done_keeps_who_when_and_how_long(storm, crew):
    task = make_task(storm)

    ticking.tick(task=task, by=crew[0].user, now=MORNING, minutes=9)

    kept = StormTask.objects.get()
    assert (kept.state, kept.done_by, kept.done_at, kept.minutes_spent) == ("done", crew[0].user, MORNING, 9)


def test_of_two_who_tick_at_once_one_is_told(storm, crew):
    task = make_task(storm)
    stale = StormTask.objects.get(pk=task.pk)
    ticking.tick(task=task, by=crew[0].user, now=MORNING)

    with pytest.raises(TickError, match=crew[0].user.username):
        ticking.tick(task=stale, by=crew[1].user, now=MORNING + timedelta(minutes=1))

    assert StormTask.objects.get().done_by == crew[0].user


def test_cannot_tells_each_manager_once(storm, crew, farm):
    boss = make_member(farm, "manager")
    boss.user.email = "boss@example.org"
    boss.user.save()
    task = make_task(storm)
    stale = StormTask.objects.get(pk=task.pk)

    ticking.cannot(task=task, by=crew[0].user, now=MORNING, reason="bar bent")
    with pytest.raises(TickError):
        ticking.cannot(task=stale, by=crew[0].user, now=MORNING, reason="bar bent")

    told = Reminder.objects.get()
    assert told.membership == boss
    assert "bar bent" in told.body
    assert StormTask.objects.get().state == "cannot"


def test_cannot_needs_a_reason(storm, crew):
    task = make_task(storm)

    with pytest.raises(TickError):
        ticking.cannot(task=task, by=crew[0].user, now=MORNING, reason="  ")

    assert StormTask.objects.get().state == "open"
    assert not Reminder.objects.exists()


def test_what_is_taken_back_is_open_and_planned_again(storm, crew):
    task = make_task(storm)
    ticking.tick(task=task, by=crew[0].user, now=MORNING)

    ticking.take_back(task=task, now=MORNING)

    kept = StormTask.objects.get()
    assert (kept.state, kept.done_at, kept.done_by) == ("open", None, None)
    assert kept.assigned_to is not None


def test_the_second_look_is_for_somebody_else(storm, crew):
    task = make_task(storm)
    ticking.tick(task=task, by=crew[0].user, now=MORNING)

    with pytest.raises(TickError, match="yourself"):
        ticking.check_round(task=task, by=crew[0].user, now=MORNING)
    ticking.check_round(task=task, by=crew[1].user, now=MORNING)

    kept = StormTask.objects.get()
    assert (kept.checked_by, kept.checked_at) == (crew[1].user, MORNING)
    with pytest.raises(TickError):
        ticking.check_round(task=task, by=crew[1].user, now=MORNING)


def test_every_kind_and_step_has_words_in_both_languages():
    steps = {step.rpartition(":")[2] for each in (*DOOR_STEPS.values(), *OTHER_STEPS.values()) for step in each}

    assert set(KINDS) == set(StormTask.Kind.values)
    assert steps <= set(STEPS)
    assert all(words.en and words.es and words.en != words.es for words in (*KINDS.values(), *STEPS.values()))


# Film and opening again ----------------------------------------------------------


def test_a_cut_is_written_down_with_its_reason(storm, crew):
    tunnel = make_tunnel(storm.farm)
    task = make_task(storm, tunnel=tunnel, kind="film")

    with pytest.raises(FilmError):
        film.decide(storm=storm, tunnel=tunnel, choice="cut", by=crew[0].user, now=MORNING)
    film.decide(storm=storm, tunnel=tunnel, choice="cut", by=crew[0].user, now=MORNING, note="frame bent")

    kept = FilmDecision.objects.get()
    assert (kept.choice, kept.by, kept.at, kept.insurer_told) == ("cut", crew[0].user, MORNING, False)
    task.refresh_from_db()
    assert task.state == "done"


def test_no_film_is_decided_on_after_the_storm_or_elsewhere(storm, crew):
    elsewhere = make_tunnel()
    with pytest.raises(FilmError):
        film.decide(storm=storm, tunnel=elsewhere, choice="keep", by=crew[0].user, now=MORNING)
    storm.state = Storm.State.OVER

    with pytest.raises(FilmError):
        film.decide(storm=storm, tunnel=make_tunnel(storm.farm), choice="keep", by=crew[0].user, now=MORNING)


def test_a_closed_tunnel_gets_a_time_and_its_owner_is_reminded_once(storm, crew):
    crew[0].user.email = "crew@example.org"
    crew[0].user.save()
    task = make_task(storm)
    ticking.tick(task=task, by=crew[0].user, now=MORNING)
    storm.state = Storm.State.OVER
    storm.save()
    opens = storm.ends_at + timedelta(hours=1)  # an hour of calm; the farm's place is not known, so no dawn

    for _ in range(2):
        reopening.remind(now=opens)

    kept = Reopening.objects.get()
    assert (kept.tunnel, kept.owner, kept.due_at) == (task.tunnel, crew[0].user, opens)
    assert Reminder.objects.filter(key=f"storm-{storm.pk}-reopen-{task.tunnel_id}").count() == 1
    reopening.done(reopening=kept, by=crew[1].user, now=opens)
    with pytest.raises(reopening.ReopeningError):
        reopening.done(reopening=kept, by=crew[0].user, now=opens)


def test_a_tunnel_is_opened_by_daylight(storm, crew):
    storm.farm.latitude_deg, storm.farm.longitude_deg = 50, 0
    storm.farm.save()
    storm.ends_at = datetime(2026, 11, 26, 22, tzinfo=UTC)

    at = reopening.opens_at(storm)

    # Civil dawn at 50° N on 27 November is about 06:58 by the almanac's usual half hour before a sunrise at 07:32.
    assert datetime(2026, 11, 27, 6, 40, tzinfo=UTC) < at < datetime(2026, 11, 27, 7, 15, tzinfo=UTC)


# Pictures ------------------------------------------------------------------------


def opened(data):
    return Image.open(io.BytesIO(data))


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_picture_is_made_anew_as_jpeg(farm, crew, kind):
    photo = keep_photo(farm=farm, upload=picture_file(kind, (3000, 1500)), by=crew[0].user, now=MORNING)

    picture = opened(bytes_of(photo, is_small=False))
    assert (picture.format, picture.size) == ("JPEG", (2000, 1000))
    assert (photo.width, photo.height) == (2000, 1000)
    assert opened(bytes_of(photo, is_small=True)).size == (480, 240)
    assert bytes_of(photo, is_small=True) == bytes_of(photo, is_small=True)


def test_a_phones_own_format_is_read(farm, crew):
    file = io.BytesIO()
    pillow_heif.from_pillow(Image.new("RGB", (64, 32), "green")).save(file)
    upload = SimpleUploadedFile("a.heic", file.getvalue())

    photo = keep_photo(farm=farm, upload=upload, by=crew[0].user, now=MORNING)

    assert (photo.width, photo.height) == (64, 32)


def test_a_picture_is_turned_upright_and_says_nothing_of_where_it_was_taken(farm, crew):
    exif = Image.Exif()
    exif[0x0112] = 6  # orientation: turn a quarter to the right
    exif[0x010F] = "Camera maker"
    exif.get_ifd(0x8825)[1] = "N"  # latitude
    upload = picture_file("JPEG", (60, 30), exif=exif, comment=b"secret")

    photo = keep_photo(farm=farm, upload=upload, by=crew[0].user, now=MORNING)

    data = bytes_of(photo, is_small=False)
    assert opened(data).size == (30, 60)
    assert not opened(data).getexif()
    assert b"secret" not in data
    assert b"Camera maker" not in data


@pytest.mark.parametrize(
    "data", [b"", b"no picture", b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"GIF89a" + bytes(40), b"\xff\xd8\xff"]
)
def test_what_is_no_picture_is_refused(farm, crew, data):
    with pytest.raises(PhotoError):
        keep_photo(farm=farm, upload=SimpleUploadedFile("a.jpg", data), by=crew[0].user, now=MORNING)

    assert not Photo.objects.exists()


def test_half_a_picture_is_refused(farm, crew):
    whole = picture_file("JPEG", (400, 400)).read()

    with pytest.raises(PhotoError):
        keep_photo(
            farm=farm, upload=SimpleUploadedFile("a.jpg", whole[: len(whole) // 2]), by=crew[0].user, now=MORNING
        )


@pytest.mark.parametrize("size", [(8000, 7600), (30000, 30000)])
def test_too_many_pixels_are_refused_before_they_are_unpacked(farm, crew, size):
    file = io.BytesIO()
    Image.new("1", size).save(file, "PNG")

    with pytest.raises(PhotoError, match="million pixels"):
        keep_photo(farm=farm, upload=SimpleUploadedFile("a.png", file.getvalue()), by=crew[0].user, now=MORNING)


def test_too_large_a_file_is_refused(farm, crew):
    upload = SimpleUploadedFile("a.jpg", bytes(12 * 1024 * 1024 + 1))

    with pytest.raises(PhotoError, match="12 MB"):
        keep_photo(farm=farm, upload=upload, by=crew[0].user, now=MORNING)


def test_the_same_picture_twice_is_kept_once(farm, crew, storm):
    upload = picture_file()
    task = make_task(storm)
    first = keep_photo(farm=farm, upload=upload, by=crew[0].user, now=MORNING, storm=storm, task=task)
    upload.seek(0)

    second = keep_photo(farm=farm, upload=upload, by=crew[0].user, now=MORNING, storm=storm, task=task)

    assert first == second
    assert Path(first.file.path).is_file()


def test_a_task_is_put_where_the_manager_says(storm, crew):
    tasks = [make_task(storm, minutes=20 + number) for number in range(6)]
    write_plan(storm=storm, now=MORNING)
    mine = placing.tasks_of(storm, crew[0].user)

    placing.place(task=mine[2], to=crew[0].user, before=mine[0].pk, now=MORNING)
    after, others = (placing.tasks_of(storm, member.user) for member in crew[:2])
    placing.place(task=others[0], to=crew[0].user, before=after[1].pk, now=MORNING)
    placed = [task.pk for task in placing.tasks_of(storm, crew[0].user)]

    assert after[0] == mine[2]
    assert placed[:2] == [mine[2].pk, others[0].pk]
    assert others[0].pk not in [task.pk for task in placing.tasks_of(storm, crew[1].user)]
    assert storm.tasks.count() == len(tasks)


def test_a_task_is_put_at_the_end_where_nothing_stands_behind_it(storm, crew):
    for number in range(6):
        make_task(storm, minutes=20 + number)
    write_plan(storm=storm, now=MORNING)
    mine = placing.tasks_of(storm, crew[0].user)

    placing.place(task=mine[0], to=crew[0].user, before=0, now=MORNING)

    assert placing.tasks_of(storm, crew[0].user)[: len(mine)] == [*mine[1:], mine[0]]


# A fault that is mended before the storm -------------------------------------------


@pytest.fixture
def fault(storm):
    """A task that mends a loose clamp, found on the morning before the storm, and its fault."""
    task = make_task(storm, kind="repair", minutes=30)
    repair = log_fault(
        farm=storm.farm, place=task.opening, part="clamp", mode="loose", found_on=MORNING.date(), by=None, now=MORNING,
        is_critical=True,
    )  # fmt: skip
    StormTask.objects.filter(pk=task.pk).update(repair=repair, key=f"repair-{repair.pk}")
    return StormTask.objects.for_list().get(pk=task.pk)


def test_a_tick_lets_the_fault_hold_for_now(fault, crew):
    ticking.tick(task=fault, by=crew[0].user, now=MORNING)

    repair = Repair.objects.get()
    assert (repair.state, repair.mended_on) == ("temporary", MORNING.date())
    assert repair.mended_by == person(crew[0].user)
    assert repair.job.state == "open"  # for good is another job
    assert repair.job.events.filter(by=crew[0].user, at=MORNING).exists()


def test_a_tick_taken_back_opens_the_fault_again(fault, crew):
    ticking.tick(task=fault, by=crew[0].user, now=MORNING)

    ticking.take_back(task=fault, by=crew[1].user, now=MORNING)

    repair = Repair.objects.get()
    assert (repair.state, repair.mended_on, repair.mended_by) == ("open", None, "")
    assert StormTask.objects.get().state == "open"


def test_a_fault_mended_for_good_meanwhile_stays_mended(fault, crew):
    ticking.tick(task=fault, by=crew[0].user, now=MORNING)
    mend(repair=Repair.objects.get(), by=crew[1].user, now=MORNING, on=MORNING.date())

    ticking.take_back(task=fault, by=crew[0].user, now=MORNING)

    assert Repair.objects.get().state == "done"


def test_what_cannot_be_done_mends_nothing_and_taken_back_opens_nothing(fault, crew):
    ticking.cannot(task=fault, by=crew[0].user, now=MORNING, reason="no clamp in the store")
    ticking.take_back(task=StormTask.objects.for_list().get(), by=crew[0].user, now=MORNING)

    assert Repair.objects.get().state == "open"


def test_a_phone_whose_clock_is_behind_mends_on_the_day_of_the_fault(fault, crew):
    ticking.tick(task=fault, by=crew[0].user, now=MORNING, at=MORNING - timedelta(days=3))

    assert Repair.objects.get().mended_on == MORNING.date()
