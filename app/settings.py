"""What the program remembers between runs: looks, sizes and recent files, never job data."""

from pathlib import Path

from PySide6.QtCore import QByteArray, QSettings

RECENT_COUNT = 8


class AppSettings:
    """Typed access to the program's settings file."""

    def __init__(self, store: QSettings | None = None) -> None:
        self._store = store or QSettings(
            QSettings.Format.IniFormat, QSettings.Scope.UserScope, "Lapline", "Lapline"
        )

    def text(self, key: str, default: str = "") -> str:
        """Return a remembered text."""
        value = self._store.value(key, default)
        return value if isinstance(value, str) else default

    def set_text(self, key: str, value: str) -> None:
        """Remember a text."""
        self._store.setValue(key, value)

    def flag(self, key: str, *, default: bool) -> bool:
        """Return a remembered yes or no."""
        return self.text(key, "yes" if default else "no") == "yes"

    def set_flag(self, key: str, *, value: bool) -> None:
        """Remember a yes or no."""
        self.set_text(key, "yes" if value else "no")

    def state(self, key: str) -> QByteArray:
        """Return a remembered widget state; empty when there is none."""
        value = self._store.value(f"state/{key}")
        return value if isinstance(value, QByteArray) else QByteArray()

    def set_state(self, key: str, value: QByteArray) -> None:
        """Remember a widget state."""
        self._store.setValue(f"state/{key}", value)

    def recent(self) -> list[Path]:
        """Return the files opened last, newest first."""
        return [Path(line) for line in self.text("recent").split("\n") if line]

    def add_recent(self, path: Path) -> None:
        """Put a file at the head of the recent ones."""
        others = [p for p in self.recent() if p != path.absolute()]
        paths = [path.absolute(), *others][:RECENT_COUNT]
        self.set_text("recent", "\n".join(str(p) for p in paths))

    def drop_recent(self, path: Path) -> None:
        """Forget a file that is gone."""
        self.set_text("recent", "\n".join(str(p) for p in self.recent() if p != path))

    def sync(self) -> None:
        """Write to disk now."""
        self._store.sync()
