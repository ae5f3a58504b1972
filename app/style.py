"""The stylesheet of the window, filled with a theme's colours."""

from string import Template
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from app.theme import Theme


def stylesheet(theme: "Theme") -> str:
    """Return the application's stylesheet in the theme's colours."""
    names = theme.__class__.__dataclass_fields__
    return _SHEET.substitute({name: getattr(theme, name) for name in names})


_SHEET = Template("")
