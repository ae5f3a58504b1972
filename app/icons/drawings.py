"""What the icons look like: parts of (path, is filled) on a grid of 24 by 24, y down.

The panel with one rounded shoulder is the mark that the seam tools share.
"""

Drawing = tuple[tuple[str, bool], ...]

_PANEL = "M 3 20 L 3 10 C 3 6 6 4 10 4 L 21 4 L 21 20 Z"

DRAWINGS: dict[str, Drawing] = {
    "select": (
        ("M 6 3 L 6 19 L 10.2 15.2 L 13 21 L 15.6 19.8 L 12.9 14.2 L 18.5 13.6 Z", False),
    ),
    "seam": ((_PANEL, False), ("M 3 15 C 9 15 12 10 21 10", False)),
    "stripe": (
        (_PANEL, False),
        ("M 3 17 C 10 16 14 11 21 8 L 21 12 C 15 14 10 18 3 19 Z", True),
    ),
    "inlay": ((_PANEL, False), ("M 8 15 C 8 11 10 9 14 9 L 17 12 L 15 16 Z", True)),
    "relief": (
        (_PANEL, False),
        ("M 9.6 20 L 12 11.4 L 14.4 20 Z", True),
        ("O 12 9.8 1.6", False),
    ),
    "paint": (
        (_PANEL, False),
        ("M 3 20 L 3 10 C 3 6 6 4 10 4 L 12 4 L 12 20 Z", True),
    ),
    "flip": (
        ("M 3 9 L 15 9 L 15 20 L 3 20 Z", False),
        ("M 9 4 L 21 4 L 21 15 L 9 15 Z", True),
    ),
    "measure": (
        ("M 4 20 L 4 15 L 15 4 L 20 9 L 9 20 Z", False),
        ("M 7 12 L 9 14 M 10 9 L 13 12 M 13 6 L 15 8", False),
    ),
    "undo": (("M 9 5 L 4 10 L 9 15 M 4 10 L 15 10 C 18.5 10 20 12 20 15 L 20 19", False),),
    "redo": (("M 15 5 L 20 10 L 15 15 M 20 10 L 9 10 C 5.5 10 4 12 4 15 L 4 19", False),),
    "add": (("M 12 5 L 12 19 M 5 12 L 19 12", False),),
    "edit": (("M 5 19 L 6 15 L 16 5 L 19 8 L 9 18 Z M 13.5 7.5 L 16.5 10.5", False),),
    "delete": (
        ("M 4 7 L 20 7 M 9 7 L 10 4 L 14 4 L 15 7 M 6 7 L 7 20 L 17 20 L 18 7", False),
        ("M 10 11 L 10 16 M 14 11 L 14 16", False),
    ),
    "search": (("O 10.5 10.5 6 M 15 15 L 20 20", False),),
    "zoom_in": (
        ("O 10.5 10.5 6 M 15 15 L 20 20 M 8 10.5 L 13 10.5 M 10.5 8 L 10.5 13", False),
    ),
    "zoom_out": (("O 10.5 10.5 6 M 15 15 L 20 20 M 8 10.5 L 13 10.5", False),),
    "zoom_fit": (
        ("M 4 9 L 4 4 L 9 4 M 15 4 L 20 4 L 20 9 M 20 15 L 20 20 L 15 20", False),
        ("M 9 20 L 4 20 L 4 15 M 9 9 L 15 9 L 15 15 L 9 15 Z", False),
    ),
    "open": (("M 3 19 L 3 5 L 9 5 L 11 8 L 20 8 L 20 19 Z", False),),
    "save": (
        ("M 12 4 L 12 15 M 7.5 10.5 L 12 15 L 16.5 10.5 M 4 15 L 4 20 L 20 20 L 20 15", False),
    ),
    "export": (
        ("M 12 15 L 12 4 M 7.5 8.5 L 12 4 L 16.5 8.5 M 4 15 L 4 20 L 20 20 L 20 15", False),
    ),
    "stop": (
        (
            (
                "M 8.5 3.5 L 15.5 3.5 L 20.5 8.5 L 20.5 15.5 L 15.5 20.5 L 8.5 20.5 L 3.5 15.5 "
                "L 3.5 8.5 Z"
            ),
            False,
        ),
        ("M 9 9 L 15 15 M 15 9 L 9 15", False),
    ),
    "warning": (
        ("M 12 4 L 21.5 20 L 2.5 20 Z M 12 10 L 12 14.5", False),
        ("O 12 17.2 1.1", True),
    ),
    "unsure": (
        ("O 12 12 8.5 M 9 9.5 C 9 5.5 15 5.5 15 9.5 C 15 12 12 11.5 12 14", False),
        ("O 12 16.8 1.1", True),
    ),
    "note": (("O 12 12 8.5 M 12 11.5 L 12 16.5", False), ("O 12 8 1.2", True)),
    "check": (("M 5 12.5 L 10 17.5 L 19 7", False),),
    "tighten": (
        ("M 3 6 L 3 18 M 21 6 L 21 18 M 5 12 L 10 12 M 8 9.5 L 10.5 12 L 8 14.5", False),
        ("M 19 12 L 14 12 M 16 9.5 L 13.5 12 L 16 14.5", False),
    ),
    "price": (("M 3 13 L 12 4 L 20 4 L 20 12 L 11 21 Z O 15.8 8.2 1.4", False),),
    "halt": (("M 7 7 L 17 7 L 17 17 L 7 17 Z", True),),
    "keep": (("M 7 4 L 17 4 L 17 20 L 12 16 L 7 20 Z", False),),
    "panel": ((_PANEL, False),),
    "photo": (
        ("M 3 7 L 8 7 L 10 4.5 L 15 4.5 L 17 7 L 21 7 L 21 19 L 3 19 Z", False),
        ("O 12.5 12.5 3.6", False),
    ),
    "find_outline": (
        ("M 3 6 L 3 3 L 6 3 M 18 3 L 21 3 L 21 6 M 21 18 L 21 21 L 18 21", False),
        ("M 6 21 L 3 21 L 3 18", False),
        ("M 7 17 L 7 11 C 7 8 9 7 12 7 L 17 7 L 17 17 Z", False),
    ),
    "opening": ((_PANEL, False), ("M 8 10 L 15 10 L 16 15 L 9 15 Z", False)),
    "round": ((_PANEL, False), ("O 12.5 12.5 3.4", False)),
    "mark": (
        ("O 12 12 4.5 M 12 3 L 12 8 M 12 16 L 12 21 M 3 12 L 8 12 M 16 12 L 21 12", False),
    ),
    "swap": (
        ("M 4 8 L 19 8 M 15 4 L 19 8 L 15 12 M 20 16 L 5 16 M 9 12 L 5 16 L 9 20", False),
    ),
    "chevron_up": (("M 5 15 L 12 8 L 19 15", False),),
    "chevron": (("M 5 9 L 12 16 L 19 9", False),),
    "back": (("M 15 5 L 8 12 L 15 19", False),),
    "forward": (("M 9 5 L 16 12 L 9 19", False),),
    "more": (("O 5 12 1.6", True), ("O 12 12 1.6", True), ("O 19 12 1.6", True)),
    "theme": (("O 12 12 8", False), ("M 12 4 C 17 4 20 8 20 12 C 20 16 17 20 12 20 Z", True)),
}
