"""What a notebook calls to show a result; the showing itself is the report's, reached by the
package's public name.
"""

from __future__ import annotations

from typing import Any, cast


class Shown:
    """A result that a notebook shows as tables."""

    __slots__ = ()

    def _repr_html_(self) -> str:
        from rationlp import as_html

        return as_html(cast(Any, self))
