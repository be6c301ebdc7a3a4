"""How long a keeper waits for a look at one more animal: a real server, a real request, time by the clock.

    python -m bench.look

The server is started anew for each row. `at once` asks as soon as it answers; `plan first` opens the plan's
page and waits as long as somebody needs to choose an animal. The others follow in the same server, with one
animal more each. For idle machines only: it is the wait that is measured, whatever else the machine does.

What a look saves by going on from the plan as it was marched is a ratio of processor times within one
process, and holds on a busy machine too: the changed plan alone, from its first day and from the last day
before the change, best of three.
"""

from __future__ import annotations

import http.cookiejar
import re
import subprocess
import sys
import tempfile
import time
import urllib.parse
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from backreef.usecases import preview
from backreef.usecases.examples import example_plan

THINKING_S = 6.0
ANIMAL = "yellow_tang"
ARRIVALS = {
    "with the last ones": "2029-04-17",
    "on the first day": "",
    "in the eighth month": "2027-08-20",
}
"""The first is what the page fills in."""
_PROGRAM = "import sys; from backreef.cli.main import main; sys.exit(main())"
_ADDRESS = re.compile(r"http://localhost:\d+/sign-in/\S+/")
_TOKEN = re.compile(r'name="csrfmiddlewaretoken" value="([^"]+)"')


class Keeper:
    """Somebody who is signed in."""

    def __init__(self, link: str) -> None:
        self._home = link.partition("/sign-in/")[0]
        self._web = urllib.request.build_opener(
            urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar())
        )
        page = self.get(link.removeprefix(self._home))
        if "/sign-in/" in page:
            self.post(link.removeprefix(self._home), {}, page)

    def get(self, path: str) -> str:
        """A page."""
        with self._web.open(self._home + path) as answer:
            return str(answer.read().decode())

    def post(self, path: str, said: dict[str, str], page: str, *, part: bool = False) -> str:
        """What a form of a page leads to."""
        token = _TOKEN.search(page)
        assert token is not None
        told = urllib.parse.urlencode({"csrfmiddlewaretoken": token[1], **said}).encode()
        request = urllib.request.Request(self._home + path, told, {"Referer": self._home + path})  # noqa: S310
        if part:
            request.add_header("HX-Request", "true")
        with self._web.open(request) as answer:
            return str(answer.read().decode())


def main() -> None:
    """Measure and print."""
    _ratios()
    print("seconds by the clock until a look at one more animal is there")
    print(f"{'arrives':22} {'at once':>8} {'plan first':>11} {'second':>8} {'third':>8}")
    for words, on in ARRIVALS.items():
        with _served() as keeper:
            cold_s = _look(keeper, on, 1)
        with _served() as keeper:
            keeper.get("/t/reef/plan/")
            time.sleep(THINKING_S)
            keeper.get("/t/reef/plan/add/animals/?q=tang")
            times_s = [_look(keeper, on, count) for count in (1, 2, 3)]
        print(f"{words:22} {cold_s:8.2f} {times_s[0]:11.2f} {times_s[1]:8.2f} {times_s[2]:8.2f}")


def _ratios() -> None:
    path = example_plan()
    text = path.read_text(encoding="utf-8")
    print("seconds of processor time for the changed plan alone, whole horizon")
    print(f"{'arrives':22} {'from day 0':>11} {'gone on':>8} {'ratio':>6}")
    for words, on in ARRIVALS.items():
        arrives = f"arrives_on = {on}\n" if on else ""
        changed = f'{text}\n[[animals]]\nid = "newcomer"\nspecies = "{ANIMAL}"\n{arrives}'
        whole_s = min(_spent_s(text, changed, path, most=0) for _ in range(3))
        partly_s = min(_spent_s(text, changed, path, most=2) for _ in range(3))
        print(f"{words:22} {whole_s:11.2f} {partly_s:8.2f} {partly_s / whole_s:6.2f}")


def _spent_s(text: str, changed: str, path: Path, *, most: int) -> float:
    preview.forget()
    preview.MOST_REMEMBERED = most
    preview.get_ready(text, path, until_on=None)
    begun_s = time.process_time()
    preview.get_ready(changed, path, until_on=None)
    return time.process_time() - begun_s


def _look(keeper: Keeper, arrives_on: str, count: int) -> float:
    path = "/t/reef/plan/add/animals/"
    page = keeper.get(f"{path}?q=tang&thing={ANIMAL}")
    said = {"thing": ANIMAL, "count": str(count), "arrives_on": arrives_on, "do": "try"}
    begun_s = time.perf_counter()
    answer = keeper.post(path, said, page, part=True)
    spent_s = time.perf_counter() - begun_s
    assert "<svg" in answer, answer[:400]
    return spent_s


@contextmanager
def _served() -> Iterator[Keeper]:
    with tempfile.TemporaryDirectory() as name:
        (Path(name) / "reef.toml").write_text(example_plan().read_text(encoding="utf-8"), encoding="utf-8")
        process = subprocess.Popen(
            [sys.executable, "-P", "-c", _PROGRAM, "serve", name, "--port", "0"],
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        try:
            assert process.stdout is not None
            link = next(found[0] for line in process.stdout if (found := _ADDRESS.search(line)))
            yield Keeper(link)
        finally:
            process.terminate()
            process.wait()


if __name__ == "__main__":
    main()
