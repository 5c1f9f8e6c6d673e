"""What a chart shows, read back: its words, and what was painted."""

from __future__ import annotations

import re
from base64 import b64decode
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree as ET

from matplotlib.figure import Figure

from gapwright.drawing.figure import Column

if TYPE_CHECKING:
    from gapwright.drawing.figure import Chart


def words_in(svg: str | bytes) -> list[str]:
    """Every text of a drawing, which must be well-formed."""
    tree = ET.fromstring(svg)  # noqa: S314 - a picture of ours
    return [element.text or "" for element in tree.iter() if element.tag.endswith("}text")]


def in_page(page: str) -> bytes:
    """The one chart that a page holds."""
    (data,) = re.findall(r"src='data:image/svg\+xml;base64,([^']+)'", page)
    return b64decode(data)


def axes_of(chart: Chart) -> list[Any]:
    """The axes of a chart, to be looked at part by part."""
    figure = Figure(figsize=(chart.wide / 25.4, chart.high / 25.4))
    chart.paint(Column(figure, chart.wide, chart.high))
    return list(figure.axes)
