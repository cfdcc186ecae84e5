"""How posts are cut around: round or square, and low ones that a tile is lifted over."""

from __future__ import annotations

import pytest

from cutopt.errors import BadInput
from tests.jobs import room

POST = '[[area.post]]\nname = "p"\nat = [300.0, 300.0]\ndiameter = 110.0\n'


def test_posts_are_tall_and_cut_round_unless_told() -> None:
    job = room(1216, 1216, more=POST)
    assert job.cutting.round_posts == "round"
    (post,) = job.areas[0].posts
    assert (post.round, post.low) == (True, False)


def test_a_low_post_and_square_notches_are_read() -> None:
    job = room(1216, 1216, before='[cut]\nround_posts = "square"\n', more=POST + "low = true\n")
    assert job.cutting.round_posts == "square"
    assert job.areas[0].posts[0].low


@pytest.mark.parametrize(
    ("before", "more", "key"),
    [
        ('[cut]\nround_posts = "oval"\n', POST, "cut.round_posts"),
        ("", POST + 'kind = "drain"\nlow = true\n', "area[0].post[0].low"),
        ("", POST + 'low = "yes"\n', "area[0].post[0].low"),
    ],
)
def test_what_cannot_be_meant_is_refused(before: str, more: str, key: str) -> None:
    with pytest.raises(BadInput) as refusal:
        room(1216, 1216, before=before, more=more)
    assert key in {mistake.key for mistake in refusal.value.mistakes}


def test_straight_kerf_is_the_widest_of_the_straight_saws() -> None:
    kerf = 'kerf = {table_saw = "3.2 mm", guided_saw = "2.2 mm", jigsaw = "4 mm"}\n'
    assert room(1216, 1216, before=f"[cut]\n{kerf}").cutting.straight_kerf == 1024
    only = '[cut]\nsaws = ["guided saw", "jigsaw"]\n'
    assert room(1216, 1216, before=only + kerf).cutting.straight_kerf == 704
