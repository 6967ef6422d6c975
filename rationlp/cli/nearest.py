"""A group of commands that answers a mistyped one with the nearest there is."""

from __future__ import annotations

from typing import Any

from typer.core import TyperGroup

from rationlp.errors import nearest


class NearestGroup(TyperGroup):
    """Commands that can be mistyped."""

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """Find the command; an unknown one gets the nearest there is, or all of them."""
        if args and not args[0].startswith("-") and args[0] not in self.commands:
            near = nearest(args[0], self.commands)
            hint = f"There are: {', '.join(self.commands)}."
            if near:
                hint = f'Did you mean "{near}"?'
            ctx.fail(f'No such command "{args[0]}". {hint}')
        return super().resolve_command(ctx, args)
