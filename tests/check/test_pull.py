"""The best pull against brute force over the sphere, and its certificate of none re-verified with plain sums."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.check.pull import best_pull
from moldplan.errors import GeometryError


def sphere(count=20_000):
    """Directions spread evenly, written out once more here so that the check does not lean on the code it checks."""
    k = np.arange(count)
    z = 1 - (2 * k + 1) / count
    turn = k * math.radians(137.50776405003785)
    return np.column_stack([np.sqrt(1 - z * z) * np.cos(turn), np.sqrt(1 - z * z) * np.sin(turn), z])


def by_force(normals):
    return math.degrees(math.asin((sphere() @ np.asarray(normals).T).min(axis=1).max()))


def unit(rows):
    rows = np.asarray(rows, float)
    return rows / np.linalg.norm(rows, axis=1)[:, None]


directions = st.tuples(*(st.floats(-1, 1),) * 3).filter(lambda v: math.hypot(*v) > 0.1)


@settings(max_examples=40, deadline=None)
@given(st.lists(directions, min_size=1, max_size=12))
def test_no_direction_beats_the_best_pull(rows):
    normals = unit(rows)
    pull = best_pull(normals)
    assert math.hypot(*pull.way) == pytest.approx(1)
    found = math.degrees(math.asin(np.clip((normals @ np.array(pull.way)).min(), -1, 1)))
    assert pull.draft == pytest.approx(found, abs=1e-4)
    assert pull.draft >= by_force(normals) - (1e-6 if pull.exists else 0.2)


@settings(max_examples=40, deadline=None)
@given(st.lists(directions, min_size=4, max_size=12))
def test_where_there_is_none_the_certificate_proves_it(rows):
    normals = unit(rows)
    pull = best_pull(normals)
    if pull.exists:
        assert pull.draft > 0 and not pull.certificate
        return
    total = sum(weight * np.array(normal) for weight, normal in pull.certificate)
    assert np.linalg.norm(total) < 1e-8
    assert sum(weight for weight, _ in pull.certificate) == pytest.approx(1)
    assert all(weight > 0 and np.abs(normals - normal).max(axis=1).min() < 1e-9 for weight, normal in pull.certificate)
    assert by_force(normals) < 0.5  # nothing on the sphere leaves with more than its own spacing


def test_a_tapered_box_is_pulled_along_its_axis_with_its_taper():
    a = math.radians(3)
    walls = [(math.cos(a), 0, -math.sin(a)), (-math.cos(a), 0, -math.sin(a)), (0, math.cos(a), -math.sin(a)),
             (0, -math.cos(a), -math.sin(a)), (0, 0, -1)]
    pull = best_pull(walls)
    assert pull.exists
    assert pull.way == pytest.approx((0, 0, -1), abs=1e-9)
    assert pull.draft == pytest.approx(3)


def test_a_spool_lets_go_only_when_it_is_parted():
    # drafted both ways from its waist: no pull, but parted along its axis each half leaves with 5 deg
    a = math.radians(5)
    walls = [(math.cos(t) * math.cos(a), math.sin(t) * math.cos(a), way * math.sin(a))
             for t in np.linspace(0, 2 * math.pi, 24, endpoint=False) for way in (-1, 1)]
    pull = best_pull(walls, [0, 1] * 24)
    assert not pull.exists
    assert pull.certificate
    assert pull.parting is not None
    along, draft = pull.parting
    assert abs(along[2]) == pytest.approx(1, abs=1e-3)
    assert draft == pytest.approx(5, abs=0.05)


def test_a_straight_post_leaves_along_its_axis_with_no_draft_at_all():
    around = [(math.cos(t), math.sin(t), 0.0) for t in np.linspace(0, 2 * math.pi, 36, endpoint=False)]
    pull = best_pull(around)
    assert not pull.exists
    assert pull.draft == pytest.approx(0, abs=1e-6)
    assert abs(pull.way[2]) == pytest.approx(1, abs=1e-6)


def test_no_normals_no_pull():
    with pytest.raises(GeometryError, match="at least one"):
        best_pull(np.empty((0, 3)))


def test_faces_that_are_alike_are_asked_once(monkeypatch):
    """Three hundred discs of one cylinder's wall: what is searched does not grow with them, nor does the answer."""
    from moldplan.check import pull

    turn = np.radians(np.arange(0, 360, 5))
    one = np.column_stack([np.cos(turn), np.sin(turn), np.zeros_like(turn)])
    sizes, search = [], pull._search
    monkeypatch.setattr(pull, "_search", lambda rods, worth: sizes.append(len(rods)) or search(rods, worth))
    stack = best_pull(np.vstack([one] * 300), np.repeat(np.arange(300), len(one)))
    assert sizes == [72, 72]
    alone = best_pull(one, np.zeros(72, int))
    assert (stack.draft, stack.way, stack.exists) == (alone.draft, alone.way, alone.exists)
    # the certificate is a proof by itself: weights of normals whose sum vanishes (Gordan's theorem)
    assert np.linalg.norm(sum(w * np.array(n) for w, n in stack.certificate)) < 1e-9
