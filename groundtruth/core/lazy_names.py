"""Names of a package that are imported when they are first used (PEP 562)."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from importlib import import_module


def lazy_names(
    package: str, names_of: Mapping[str, Sequence[str]]
) -> tuple[Callable[[str], object], Callable[[], list[str]], list[str]]:
    """`__getattr__`, `__dir__` and `__all__` of a package whose names stand in its modules.

    `names_of` gives the public names of each module, which is named relative to the package. No
    name may be that of a module directly in the package: Python would find the module first.
    """
    module_of = {name: module for module, names in names_of.items() for name in names}

    def getattr_(name: str) -> object:
        if name not in module_of:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        return getattr(import_module(f".{module_of[name]}", package), name)

    public = sorted(module_of)
    return getattr_, lambda: public, public
