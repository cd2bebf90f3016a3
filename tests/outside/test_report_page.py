"""The report page in a real browser: no complaint on its console, nothing asked of the network, a 3D view that draws.

Needs a Chromium on the path (.ci/run installs one); software rendering will do.
"""

import html
import json
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

SPEC = Path(__file__).parents[2] / "specs" / "first-cradle.yaml"
QUIET = ["--headless", "--no-sandbox", "--disable-quic", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync", "--hide-scrollbars", "--virtual-time-budget=5000",
         "--host-resolver-rules=MAP * ~NOTFOUND"]  # fmt: skip
DRAWS = ["--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"]


def browser():
    found = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
    assert found, "this test needs a Chromium: apt-get install chromium"
    return found


def visit(page, folder, *options):
    """Open a page; returns its standard output and its log."""
    command = [browser(), *QUIET, f"--user-data-dir={folder / 'profile'}", "--enable-logging=stderr", *options,
               page.as_uri()]  # fmt: skip
    done = subprocess.run(command, capture_output=True, text=True, timeout=120, check=True)
    return done.stdout, done.stderr


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    out = tmp_path_factory.mktemp("built")
    done = subprocess.run([sys.executable, "-m", "moldplan", "build", str(SPEC), "--out", str(out)], timeout=300)
    assert done.returncode in (0, 1)
    return out / SPEC.stem / "report.html"


ASKED = """<script>addEventListener('load', () => setTimeout(() => { document.body.dataset.asked =
    JSON.stringify(performance.getEntriesByType('resource').map(one => one.name)); }, 200));</script>"""


def asked(dom):
    """What the page itself asked for, by the browser's own record (W3C Resource Timing)."""
    return json.loads(html.unescape(re.search(r'data-asked="([^"]*)"', dom).group(1)))


def test_the_page_runs_without_complaint_and_asks_for_nothing(page, tmp_path):
    watched = tmp_path / "watched.html"
    watched.write_text(page.read_text(encoding="utf-8").replace("</body>", f"{ASKED}</body>"), encoding="utf-8")
    dom, said = visit(watched, tmp_path, *DRAWS, "--dump-dom")
    assert not re.findall(r"CONSOLE.*", said)
    assert re.search(r'<figure id="view" class="live">', dom)
    assert "Touch a part to read its name." in dom
    assert asked(dom) == []


def test_the_record_would_show_a_request_and_the_console_a_complaint(tmp_path):
    bad = tmp_path / "bad.html"
    bad.write_text(f'<body><img src="http://mold.invalid/a.png"><script>nothing.here()</script>{ASKED}</body>')
    dom, said = visit(bad, tmp_path, "--dump-dom")
    assert asked(dom) == ["http://mold.invalid/a.png"]
    assert re.findall(r"CONSOLE.*nothing is not defined", said)


def test_the_view_is_not_blank(page, tmp_path):
    from PIL import Image

    alone = tmp_path / "alone.html"
    only = """<style>body > *, section > *:not(#view), #view > *:not(.stage) { display: none !important }
        body > section:has(#view) { display: block !important } .compass { display: none !important }</style>"""
    alone.write_text(page.read_text(encoding="utf-8").replace("</body>", f"{only}</body>"), encoding="utf-8")
    visit(alone, tmp_path, *DRAWS, f"--screenshot={tmp_path / 'view.png'}", "--window-size=900,800")
    picture = Image.open(tmp_path / "view.png").convert("RGB")
    counts = sorted(picture.getcolors(900 * 800), reverse=True)
    assert len(counts) > 60  # shaded, not one flat colour
    assert 0.05 < sum(n for n, colour in counts if colour != (255, 255, 255)) / (900 * 800) < 0.9


def test_without_webgl_the_still_picture_stays(page, tmp_path):
    dom, _ = visit(page, tmp_path, "--disable-gpu", "--disable-3d-apis", "--dump-dom")
    figure = re.search(r'<figure id="view"[^>]*>.*?</figure>', dom, re.S).group()
    assert 'class="live"' not in figure
    assert "<path" in figure and "needs WebGL" in figure


@pytest.mark.parametrize("width", [360, 900, 1400])
def test_the_page_is_never_wider_than_the_reader(page, tmp_path, width):
    framed = tmp_path / "framed.html"  # a window narrower than 500 px is refused, a frame is not
    probe = ("<script>document.documentElement.dataset.wide = document.documentElement.scrollWidth + '/' + "
             "document.documentElement.clientWidth; parent.postMessage(document.documentElement.dataset.wide, '*');"
             "</script>")  # fmt: skip
    inner = tmp_path / "inner.html"
    inner.write_text(page.read_text(encoding="utf-8").replace("</body>", f"{probe}</body>"), encoding="utf-8")
    framed.write_text(
        f'<!doctype html><body><iframe src="inner.html" width="{width}" height="800" frameborder="0"></iframe><script>'
        "addEventListener('message', event => { document.body.dataset.wide = event.data; });</script></body>",
        encoding="utf-8")  # fmt: skip
    dom, _ = visit(framed, tmp_path, *DRAWS, "--allow-file-access-from-files", "--window-size=1600,900", "--dump-dom")
    wide, client = map(int, re.search(r'data-wide="(\d+)/(\d+)"', dom).groups())
    assert client <= width
    assert wide <= client
