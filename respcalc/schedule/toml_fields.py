"""The keys of one TOML table, taken one by one, with every fault named."""

from __future__ import annotations

import datetime as dt
import difflib
import re
from collections.abc import Callable
from typing import Any

from respcalc.core.errors import RespcalcError, UnitsError
from respcalc.core.vocabulary import read

__all__ = ["Fields"]

_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")
_BEYOND_USE = 10**15  # no field takes a whole number as large; some overflow a float


class Fields:
    """The keys of one table, taken one by one; what is left over is a fault."""

    def __init__(self, where: str, values: Any) -> None:
        self.where = where
        self.faults: list[str] = []
        self.asked: list[str] = []
        self.values: dict[str, Any] = dict(values) if isinstance(values, dict) else {}
        if not isinstance(values, dict):
            self.faults.append(f"{where}: a table of keys is needed, not {values!r:.80}")

    def peek(self, key: str) -> Any:
        return self.values.get(key)

    def raw(self, key: str, *, required: bool = False, example: str = "") -> Any:
        self.asked.append(key)
        if key not in self.values:
            if required:
                paste = f", for example {key} = {example}" if example else ""
                self.faults.append(f"{self.where}: {key} is missing{paste}")
            return None
        return self.values[key]

    def single(self, key: str, *, required: bool = False, example: str = "") -> Any:
        """One value: not a list, not a table."""
        value = self.raw(key, required=required, example=example)
        if isinstance(value, (list, dict)):
            paste = f", for example {key} = {example}" if example else ""
            self.faults.append(f"{self.where}: {key} = {value!r:.80} must be one value{paste}")
            return None
        if isinstance(value, int) and abs(value) > _BEYOND_USE:
            self.faults.append(f"{self.where}: {key} is a number of {len(str(abs(value)))} digits; check it")
            return None
        return value

    def text(self, key: str, *, required: bool = False, example: str = "") -> str:
        value = self.raw(key, required=required, example=example)
        if value is None:
            return ""
        if isinstance(value, (dt.date, dt.datetime)):
            value = value.isoformat()
        if not isinstance(value, str):
            self.faults.append(f"{self.where}: {key} = {value!r:.80} must be text in quotes")
            return ""
        if _CONTROL.search(value):
            self.faults.append(f"{self.where}: {key} = {value!r:.80} holds a control character; type it again")
            return ""
        if required and not value.strip():
            self.faults.append(f"{self.where}: {key} is empty{f', for example {key} = {example}' if example else ''}")
        return value.strip()

    def whole(self, key: str, low: int, high: int, *, default: int | None = None) -> int:
        value = self.raw(key, required=default is None, example=str(low))
        if value is None:
            return low if default is None else default
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            self.faults.append(f"{self.where}: {key} = {value!r:.80} must be a whole number from {low} to {high}")
            return low
        return value

    def flag(self, key: str) -> bool:
        value = self.raw(key)
        if value is not None and not isinstance(value, bool):
            self.faults.append(f"{self.where}: {key} = {value!r:.80} must be true or false, without quotes")
        return value is True

    def quantity(self, key: str, word: str, *, required: bool = False, example: str = "") -> float | None:
        value = self.single(key, required=required, example=example)
        if value is None:
            return None
        number: float | None = self.attempt(lambda: float(read(word, value, as_argument=key)))
        return number

    def attempt(self, action: Callable[[], Any]) -> Any:
        """Run *action*; what it raises on purpose becomes a fault of this table."""
        try:
            return action()
        except UnitsError as error:
            self.faults += [f"{self.where}: {p}" for p in error.problems]
        except RespcalcError as error:
            self.faults.append(f"{self.where}: {error}")
        return None

    def table(self, key: str, *, required: bool = False) -> Fields:
        value = self.raw(key)
        if value is None and required:
            self.faults.append(f"{self.where}: the table [{key}] is missing")
        return Fields(f"[{key}]", {} if value is None else value)

    def tables(self, key: str) -> list[Fields]:
        value = self.raw(key)
        if value is None:
            return []
        if not isinstance(value, list):
            self.faults.append(f"{self.where}: {key} must be written as [[{key}]], once for each {key}")
            return []
        return [Fields(_title(key, i, v), v) for i, v in enumerate(value, start=1)]

    def done(self) -> None:
        """Whatever key was not asked for is a slip of the pen: name it and the nearest right one."""
        for key in self.values:
            if key not in self.asked:
                near = difflib.get_close_matches(key, self.asked, n=1)
                hint = f"; did you mean {near[0]}?" if near else f"; known keys: {', '.join(self.asked)}"
                self.faults.append(f"{self.where}: {key} is not a key here{hint}")


def _title(key: str, number: int, value: Any) -> str:
    label = value.get("id") or value.get("name") if isinstance(value, dict) else None
    return f"{key} {label!r}" if label else f"{key} no. {number}"
