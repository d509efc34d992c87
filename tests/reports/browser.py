"""Chromium, to see pages as a reader does; and its pictures read back."""

from __future__ import annotations

import html
import json
import re
import shutil
import struct
import subprocess
import tempfile
import zlib
from pathlib import Path
from typing import Any

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
_FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
]


def run(page: Path, *flags: str) -> str:
    assert CHROMIUM is not None
    with tempfile.TemporaryDirectory() as profile:
        command = [CHROMIUM, *_FLAGS, f"--user-data-dir={profile}", *flags, page.as_uri()]
        return subprocess.run(command, capture_output=True, encoding="utf-8", timeout=120, check=True).stdout


def photograph(page: Path, width: int, *flags: str, height: int = 700) -> list[list[tuple[int, int, int]]]:
    """The page at a width, as rows of (red, green, blue)."""
    target = page.with_suffix(".png")
    run(page, f"--window-size={width},{height}", f"--screenshot={target}", *flags)
    return decoded(target.read_bytes())


def decoded(png: bytes) -> list[list[tuple[int, int, int]]]:
    """The pixels of an 8-bit RGB or RGBA PNG (W3C PNG specification, filter types of section 9)."""
    width, height, depth, kind = struct.unpack(">IIBB", png[16:26])
    assert (depth, kind) in ((8, 2), (8, 6))
    size = 3 if kind == 2 else 4
    data, position = b"", 8
    while position < len(png):
        (length,) = struct.unpack(">I", png[position : position + 4])
        if png[position + 4 : position + 8] == b"IDAT":
            data += png[position + 8 : position + 8 + length]
        position += length + 12
    raw, rows, last = zlib.decompress(data), [], bytearray(width * size)
    for y in range(height):
        start = y * (width * size + 1)
        row = bytearray(raw[start + 1 : start + 1 + width * size])
        _unfilter(raw[start], row, last, size)
        rows.append([(row[x], row[x + 1], row[x + 2]) for x in range(0, len(row), size)])
        last = row
    return rows


def _unfilter(kind: int, row: bytearray, last: bytearray, size: int) -> None:
    for x in range(len(row)):
        left = row[x - size] if x >= size else 0
        above, corner = last[x], last[x - size] if x >= size else 0
        row[x] = (row[x] + (0, left, above, (left + above) // 2, _paeth(left, above, corner))[kind]) & 255


def _paeth(left: int, above: int, corner: int) -> int:
    guess = left + above - corner
    return min((left, above, corner), key=lambda each: abs(guess - each))


def measured(pages: dict[str, str], widths: tuple[int, ...], folder: Path) -> list[dict[str, Any]]:
    """What the browser says of pages laid out at widths: how wide they become, and of the words in every drawing which are
    cut off, which run over others, and how small the smallest are (pixels)."""
    frames = "".join(
        f'<iframe data-name="{html.escape(name)}" width="{width}" height="900" srcdoc="{html.escape(page)}"></iframe>'
        for name, page in pages.items()
        for width in widths
    )
    wrapper = folder / "measure.html"
    wrapper.write_text(f'<!doctype html><meta charset="utf-8">{frames}<script>{_SCRIPT}</script>', "utf-8")
    shown = run(wrapper, "--virtual-time-budget=20000", "--dump-dom")
    found = re.search(r'<pre id="found">(.*?)</pre>', shown, re.DOTALL)
    assert found is not None
    result: list[dict[str, Any]] = json.loads(html.unescape(found.group(1)))
    return result


_SCRIPT = """
addEventListener("load", () => {
  const found = [...document.querySelectorAll("iframe")].map((frame) => {
    const page = frame.contentDocument, cut = [], over = [];
    let smallest = 99;
    for (const drawing of page.querySelectorAll("svg[role=img]")) {
      const edge = drawing.getBoundingClientRect();
      const scale = edge.width / drawing.viewBox.baseVal.width;
      const words = [...drawing.querySelectorAll("text")].map((text) => [text, text.getBoundingClientRect()]);
      words.forEach(([text, box], index) => {
        smallest = Math.min(smallest, scale * parseFloat(page.defaultView.getComputedStyle(text).fontSize));
        if (box.left < edge.left - 1 || box.right > edge.right + 1 || box.top < edge.top - 2 || box.bottom > edge.bottom + 2)
          cut.push(text.textContent);
        for (const [other, its] of words.slice(index + 1)) {
          if (text.parentNode.hasAttribute("transform") || other.parentNode.hasAttribute("transform")) continue;
          const wide = Math.min(box.right, its.right) - Math.max(box.left, its.left);
          const high = Math.min(box.bottom, its.bottom) - Math.max(box.top, its.top);
          if (wide > 2 && high > 4) over.push(text.textContent + " / " + other.textContent);
        }
      });
    }
    const root = page.documentElement;
    return {name: frame.dataset.name, width: +frame.width, needs: root.scrollWidth, has: root.clientWidth, cut, over,
            smallest, drawings: page.querySelectorAll("svg[role=img]").length};
  });
  document.body.innerHTML = '<pre id="found"></pre>';
  document.getElementById("found").textContent = JSON.stringify(found);
});
"""
