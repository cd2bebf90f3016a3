"""Includes: tables only, from the spec's own folder, each name once."""

import hashlib
import os

import pytest

STOCK = "stock: {ply: {kind: plywood, thickness: 9, size: [2440, 1220]}}\n"


def with_include(good, *names):
    return good + "include: [" + ", ".join(names) + "]\n"


def test_tables_come_in_with_their_own_marks(reads, good):
    text = with_include(good, "shop.yaml", "cloth.yaml")
    cloth = "fabrics: {light: {areal_weight: 200 g/m2}}\ninclude: [shop.yaml]\n"
    loaded = reads(text, shop=STOCK, cloth=cloth)
    assert loaded.spec.stock["ply"].thickness == 9
    assert loaded.spec.fabrics["light"].areal_weight == pytest.approx(0.2)
    assert str(loaded.marks["stock", "ply", "thickness"]) == "shop.yaml:1:30"
    assert loaded.sha256 == hashlib.sha256((text + STOCK + cloth).encode()).hexdigest()


def test_an_included_file_in_a_folder_includes_from_there(reads, good, tmp_path):
    (tmp_path / "tables").mkdir()
    (tmp_path / "tables" / "a.yaml").write_text("include: [b.yaml]\n")
    (tmp_path / "tables" / "b.yaml").write_text(STOCK.replace("9", "-9"))
    from moldplan.errors import SpecError

    with pytest.raises(SpecError, match=r"^tables/b.yaml:1:30: stock.ply.thickness = -9, allowed 0.3 to 200 mm"):
        reads(with_include(good, "tables/a.yaml"))


@pytest.mark.parametrize(("name", "says"), [
    ("/etc/hostname", "an absolute path"), ("../x.yaml", "must not lead out"), ("a/../b.yaml", "must not lead out"),
    ("'C:\\x.yaml'", "an absolute path"), ("'a\\b.yaml'", "must not lead out"), ("none.yaml", "there is no such file"),
    ("spec.yaml", "spec.yaml -> spec.yaml is a ring"), ("ring.yaml", "ring.yaml -> back.yaml -> ring.yaml is a ring"),
    ("3", "in quotes"), ("''", "must not lead out"), ("~/x.yaml", "an absolute path"), ("folder", "no such file"),
])
def test_what_cannot_be_included_says_why(name, says, mistakes, good, tmp_path):
    (tmp_path / "folder").mkdir()
    lines = mistakes(with_include(good, name), ring="include: [back.yaml]\n", back="include: [ring.yaml]\n")
    assert len(lines) == 1
    assert says in lines[0]
    assert lines[0].startswith(("spec.yaml:6:11: include.0 = ", "back.yaml:1:11: include.0 = "))


def test_a_link_that_leads_out_is_refused(mistakes, good, tmp_path_factory, tmp_path):
    outside = tmp_path_factory.mktemp("outside") / "secret.yaml"
    outside.write_text(STOCK)
    os.symlink(outside, tmp_path / "inside.yaml")
    (line,) = mistakes(with_include(good, "inside.yaml"))
    assert "a link that leads out" in line


def test_a_name_given_twice_tells_both_places(mistakes, good):
    (line,) = mistakes(with_include(good, "one.yaml", "two.yaml"), one=STOCK, two="# second\n" + STOCK)
    assert line == ("two.yaml:2:9: stock.ply = a second time, allowed each name once, because one.yaml:1:9 gives it "
                    "already")


def test_only_tables_are_taken_in(mistakes, good):
    (line,) = mistakes(with_include(good, "more.yaml"), more="cradles: {a: {block: [1, 2, 3]}}\n")
    assert line.startswith("more.yaml:1:1: cradles = {}, allowed stock, fabrics, resins, cylinders, laminates, include")


def test_an_included_file_that_is_no_yaml_is_told_with_its_own_line(mistakes, good):
    (line,) = mistakes(with_include(good, "more.yaml"), more="stock:\n\tply: 1\n")
    assert line.startswith("more.yaml:2:1: ")
    assert "a tab stands there" in line


def test_many_values_in_many_files_are_refused(mistakes, good):
    big = "stock: {" + ", ".join(f"k{n}: 1" for n in range(15_000)) + "}\n"
    (line,) = mistakes(with_include(good, "one.yaml", "two.yaml"), one=big, two=big.replace("k", "m"))
    assert "up to 50000 values in all files" in line


def test_an_include_that_is_no_list_is_told(mistakes, good):
    (line,) = mistakes(good + "include: shop.yaml\n", shop=STOCK)
    assert "include = 'shop.yaml', allowed a list" in line
