"""pluggy's manager, with our hooks and our way of marking what answers them; imported once somebody brings a plug-in."""

from __future__ import annotations

from typing import Any

import pluggy

from .plugins import GROUP, MARK, Hooks


class HookManager(pluggy.PluginManager):
    """Knows every hook of Hooks, and takes what `formcheck.plugins.implements` or pluggy's own marker has marked."""

    def __init__(self) -> None:
        super().__init__(GROUP)
        self.add_hookspecs(Hooks)

    def parse_hookspec_opts(self, module_or_class: Any, name: str) -> Any:
        return {} if name.startswith(GROUP) else None

    def parse_hookimpl_opts(self, plugin: Any, name: str) -> Any:
        marked = super().parse_hookimpl_opts(plugin, name)
        return {} if marked is None and getattr(getattr(plugin, name, None), MARK, None) is True else marked
