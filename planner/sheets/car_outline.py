"""The condition drawing: a plain car of our own in five views, in outline, for marks made by hand."""

_STYLE = 'fill="none" stroke="#333" stroke-width="1.2" stroke-linejoin="round" stroke-linecap="round"'

#: Side view, nose to the left, in a box of 200 x 70.
_SIDE = (
    (
        "M6 50 L6 40 Q8 34 20 32 L52 28 Q66 12 84 10 L128 10 Q146 11 160 28 L184 31 Q193 33 194 42 L194 50 L176 50 "
        "A16 16 0 0 0 144 50 L58 50 A16 16 0 0 0 26 50 Z"
    ),
    "M60 28 Q70 16 84 15 L102 15 L102 29 Z",
    "M108 15 L128 15 Q140 16 151 29 L108 29 Z",
    "M105 13 L105 49 M58 30 L58 44 M152 30 Q152 38 146 42",
    "M66 35 h8 M114 35 h8",
    "M6 40 h8 M186 40 h8",
)
_WHEELS = ((42, 51), (160, 51))

#: Front and rear view in a box of 90 x 70.
_END = (
    "M12 58 L12 36 Q12 30 20 27 L26 10 Q28 7 34 7 L56 7 Q62 7 64 10 L70 27 Q78 30 78 36 L78 58 Z",
    "M24 27 L29 12 L61 12 L66 27 Z",
    "M14 58 v6 h10 v-6 M66 58 v6 h10 v-6",
    "M30 50 h30 v7 h-30 Z",
)
_FRONT_ONLY = ("M15 36 h12 v7 h-12 Z M63 36 h12 v7 h-12 Z", "M31 40 h28 M31 44 h28", "M20 27 l-9 2 v-4 Z M70 27 l9 2 v-4 Z")
_REAR_ONLY = ("M14 34 h8 v12 h-8 Z M68 34 h8 v12 h-8 Z", "M24 31 h42 M45 33 v4")

#: Top view, nose to the left, in a box of 200 x 80.
_TOP = (
    "M10 40 Q10 14 22 10 L178 8 Q192 10 193 40 Q192 70 178 72 L22 70 Q10 66 10 40 Z",
    "M56 16 L78 22 L78 58 L56 64 Q50 40 56 16 Z",
    "M162 18 L146 23 L146 57 L162 62 Q166 40 162 18 Z",
    "M80 21 L144 22 L144 58 L80 59 Z",
    "M74 10 l4 -6 h6 l-2 6 M74 70 l4 6 h6 l-2 -6",
    "M62 13 L142 12 M62 67 L142 68",
)


def _paths(shapes: tuple[str, ...]) -> str:
    return "".join(f'<path d="{shape}"/>' for shape in shapes)


def _side(x: float, y: float, *, mirrored: bool) -> str:
    wheels = "".join(f'<circle cx="{cx}" cy="{cy}" r="13"/><circle cx="{cx}" cy="{cy}" r="6"/>' for cx, cy in _WHEELS)
    turn = f"translate({x + 200} {y}) scale(-1 1)" if mirrored else f"translate({x} {y})"
    return f'<g transform="{turn}">{_paths(_SIDE)}{wheels}</g>'


def car_outline_svg() -> str:
    """Return the drawing: left side, front and right side above, top and rear below; 520 x 170 units."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 520 178"><g {_STYLE}>'
        f"{_side(4, 8, mirrored=False)}"
        f'<g transform="translate(214 6)">{_paths(_END + _FRONT_ONLY)}</g>'
        f'<g transform="translate(214 98)">{_paths(_END + _REAR_ONLY)}</g>'
        f"{_side(314, 8, mirrored=True)}"
        f'<g transform="translate(4 94)">{_paths(_TOP)}</g>'
        "</g></svg>"
    )


#: Where the name of each view is printed, in units of the drawing: key of the word, x, y of its middle.
VIEW_NAMES = (("left", 104, 80), ("front", 259, 80), ("right", 414, 80), ("top", 104, 176), ("rear", 259, 172))
