"""Small pieces of SVG: elements with escaped text, hatching, and the style that print needs."""

from __future__ import annotations

from html import escape
from typing import Final

#: what the classes of the figures mean on paper; the HTML page gives them its own colours, light and dark
PAPER: Final = """
text{font-family:"Libertinus Serif";font-size:12px;fill:#111}
.mono{font-family:"DejaVu Sans Mono";font-size:9.5px}
.small{font-size:10px}.tiny{font-family:"DejaVu Sans Mono";font-size:7.5px}.strong{font-weight:700}.soft{fill:#555}
.line{stroke:#111;stroke-width:1;fill:none}.hair{stroke:#777;stroke-width:.5;fill:none}
.faint{stroke:#b4b4b4;stroke-width:.6;fill:none;stroke-dasharray:3 2}.thick{stroke:#111;stroke-width:2;fill:none}
.known{fill:#6d6d6d}.open{stroke:#6d6d6d;stroke-width:.9;fill:none}
.prime .known{fill:#111}.prime .open{stroke:#111}
.band .known{fill:#0072b2}.band .open{stroke:#0072b2}.band .end{stroke:#0072b2;stroke-width:1.4;fill:none}
.box{fill:#fff;stroke:#777;stroke-width:.8}.prime .box{stroke:#111;stroke-width:1.8}
.halo{paint-order:stroke;stroke:#fff;stroke-width:2.5px}
.cover{stroke:#777;stroke-width:.9;fill:none}.either{stroke-dasharray:6 2 1 2}.maybe{stroke-dasharray:2.5 2}
.hold{stroke:#a8a8a8;stroke-width:.6;fill:none}.tip{fill:#777}.dot{fill:#a8a8a8}
.on .box{fill:#e3f0f8;stroke:#0072b2}.on.prime .box{stroke-width:2.2}
.cover.on{stroke:#0072b2;stroke-width:1.7}.tip.on{fill:#0072b2}.hold.on{stroke:#0072b2;stroke-width:.9}.dot.on{fill:#0072b2}
"""


def element(name: str, content: str = "", /, **attributes: object) -> str:
    """Give an element; `cls` stands for class, `_` in names for `-`, floats are written with at most two decimals."""
    written = "".join(f' {_name(key)}="{escape(_value(value))}"' for key, value in attributes.items() if value != "")
    return f"<{name}{written}>{content}</{name}>" if content else f"<{name}{written}/>"


def text(x: float, y: float, words: str, cls: str = "", anchor: str = "") -> str:
    """Give a text element with escaped words; `anchor` is middle or end."""
    return element("text", escape(words), x=x, y=y, cls=cls, text_anchor=anchor)


def line(x1: float, y1: float, x2: float, y2: float, cls: str = "line") -> str:
    """Give a straight line."""
    return element("path", d=f"M{_value(x1)} {_value(y1)}L{_value(x2)} {_value(y2)}", cls=cls)


def rect(x: float, y: float, width: float, height: float, cls: str) -> str:
    """Give a rectangle."""
    return element("rect", x=x, y=y, width=width, height=height, cls=cls)


def hatched(x: float, y: float, width: float, height: float, step: float = 4.0) -> str:
    """Give the outline of a rectangle filled with lines rising to the right: the open part of an interval."""
    parts = [f"M{_value(x)} {_value(y)}h{_value(width)}v{_value(height)}h{_value(-width)}z"]
    offset = step
    while offset < width + height:
        left, right = max(0.0, offset - height), min(width, offset)
        x1, y1 = x + left, y + offset - left
        x2, y2 = x + right, y + offset - right
        parts.append(f"M{_value(x1)} {_value(y1)}L{_value(x2)} {_value(y2)}")
        offset += step
    return element("path", d="".join(parts), cls="open")


def drawing(width: float, height: float, body: str, label: str, style: str = "") -> str:
    """Give a whole drawing with its label for those who do not see it; `style` only where no page styles it."""
    css = element("style", "".join(style.splitlines())) if style else ""
    return element(
        "svg",
        f"{css}{body}",
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {_value(width)} {_value(height)}",
        role="img",
        aria_label=label,
    )


def _name(key: str) -> str:
    return {"cls": "class", "viewBox": "viewBox"}.get(key, key.replace("_", "-"))


def _value(value: object) -> str:
    if isinstance(value, float):
        return f"{value:.2f}".rstrip("0").rstrip(".") or "0"
    return str(value)
