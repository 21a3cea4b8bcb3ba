"""The validator of pydantic-core, without the Python around it.

`import pydantic_core` takes 58 ms here, nearly all of it for type declarations that only a type
checker reads; its extension module alone takes 13 ms. It is loaded under its own name, so that a
later `import pydantic` finds and uses the same one.
"""

import sys
from importlib import import_module
from importlib.machinery import PathFinder
from importlib.util import module_from_spec
from types import ModuleType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pydantic_core import SchemaError, SchemaValidator, ValidationError

__all__ = ["SchemaError", "SchemaValidator", "ValidationError"]

_NAME = "pydantic_core._pydantic_core"


def _extension() -> ModuleType:
    if _NAME not in sys.modules:
        package = PathFinder.find_spec("pydantic_core")
        spec = package and PathFinder.find_spec(_NAME, package.submodule_search_locations)
        if not spec or not spec.loader:
            return import_module("pydantic_core")  # built in another way than the one we know
        sys.modules[_NAME] = module = module_from_spec(spec)
        spec.loader.exec_module(module)
    return sys.modules[_NAME]


if not TYPE_CHECKING:
    _loaded = _extension()
    SchemaError = _loaded.SchemaError
    SchemaValidator = _loaded.SchemaValidator
    ValidationError = _loaded.ValidationError
