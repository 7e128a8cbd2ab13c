"""What of a package the commands reach by name: definitions at the top of its files, and methods of its classes.

A definition is reached where code that is reached names it, through imports and attributes of modules. A method is
reached where reached code, or a template of a letter, holds its name: as an attribute, as a whole text, or as what an f-string
may come to (`f"share_{case}"`), since tabs and totals ask for columns by name. So a method may pass that no one calls.
"""

from __future__ import annotations

import ast
import re
from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

# Decorators that hand over what they decorate to a library, which then calls it.
REGISTERS = {"callback", "field_validator", "model_validator", "field_serializer", "model_serializer"}
FUNCTIONS = (ast.FunctionDef, ast.AsyncFunctionDef)


@dataclass(frozen=True)
class Definition:
    """A name at the top of a file, or a method of a class there."""

    module: str
    name: str
    line: int

    def __str__(self) -> str:
        return f"{self.module.replace('.', '/')}.py line {self.line}: {self.name}"


@dataclass
class Module:
    """A file: its definitions with their code, what it imports under which name, and what runs as it is loaded."""

    name: str
    definitions: dict[str, tuple[Definition, list[ast.AST]]] = field(default_factory=dict)
    methods: dict[Definition, ast.AST] = field(default_factory=dict)
    imports: dict[str, tuple[str, str]] = field(default_factory=dict)
    runs: list[ast.AST] = field(default_factory=list)


def read_module(name: str, text: str) -> Module:
    module = Module(name)
    tree = ast.parse(text)
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom):
            module.imports |= {alias.asname or alias.name: (node.module or "", alias.name) for alias in node.names}
        elif isinstance(node, ast.Import):
            module.imports |= {alias.asname or alias.name: (alias.name, "") for alias in node.names}
    for node in tree.body:
        names = _defined(node)
        for defined in names:
            parts = module.definitions.setdefault(defined, (Definition(name, defined, node.lineno), []))[1]
            parts.append(_without_methods(module, node) if isinstance(node, ast.ClassDef) else node)
            if isinstance(node, FUNCTIONS) and REGISTERS & set(_decorators(node)):
                module.runs.append(ast.Name(node.name, ast.Load()))
        if not names and not _only_for_types(node):
            module.runs.append(node)
    return module


def _defined(node: ast.stmt) -> list[str]:
    if isinstance(node, (*FUNCTIONS, ast.ClassDef)):
        return [node.name]
    targets = node.targets if isinstance(node, ast.Assign) else [node.target] if isinstance(node, ast.AnnAssign) else []
    return [part.id for target in targets for part in ast.walk(target) if isinstance(part, ast.Name)]


def _without_methods(module: Module, node: ast.ClassDef) -> ast.Module:
    """The class as it is loaded: what stands in it but for methods, which are kept for themselves."""
    body: list[ast.AST] = [*node.bases, *node.decorator_list, *(keyword.value for keyword in node.keywords)]
    for part in node.body:
        if isinstance(part, FUNCTIONS) and not part.name.startswith("__") and not REGISTERS & set(_decorators(part)):
            module.methods[Definition(module.name, f"{node.name}.{part.name}", part.lineno)] = part
        else:
            body.append(part)
    return ast.Module(body, [])  # type: ignore[arg-type]  # only walked


def _decorators(node: ast.FunctionDef | ast.AsyncFunctionDef) -> Iterator[str]:
    for decorator in node.decorator_list:
        called = decorator.func if isinstance(decorator, ast.Call) else decorator
        yield called.attr if isinstance(called, ast.Attribute) else getattr(called, "id", "")


def _only_for_types(node: ast.stmt) -> bool:
    return isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test)


class Reached:
    """The definitions of a package that its entries reach. `entries` name modules, or names in them (`module:name`)."""

    def __init__(self, modules: Iterable[Module], entries: Iterable[str], texts: Iterable[str] = ()) -> None:
        self.modules = {module.name: module for module in modules}
        self.seen: set[Definition] = set()
        self._loaded: set[str] = set()
        self._words: set[str] = {word for text in texts for word in re.findall(r"\w+", text)}
        self._patterns: set[str] = set()
        self._queue: deque[tuple[Module, ast.AST]] = deque()
        for entry in entries:
            name, _, part = entry.partition(":")
            self._load(name)
            if part:
                self._name(name, part)
        self._go()

    def unreached(self) -> list[Definition]:
        return sorted(
            (
                found
                for module in self.modules.values()
                for found in (*(definition for definition, _ in module.definitions.values()), *module.methods)
                if found not in self.seen and found.name != "__all__"
            ),
            key=lambda found: (found.module, found.line),
        )

    def _go(self) -> None:
        while self._queue:
            while self._queue:
                self._read(*self._queue.popleft())
            shape = re.compile("|".join(sorted(self._patterns)) or "(?!)")
            for module in self.modules.values():
                for method, node in module.methods.items():
                    of_class, _, name = method.name.partition(".")
                    if method in self.seen or module.definitions[of_class][0] not in self.seen:
                        continue
                    if name in self._words or shape.fullmatch(name):
                        self.seen.add(method)
                        self._queue.append((module, node))

    def _load(self, name: str) -> None:
        """A module runs what stands at its top, and so does every package that it lies in."""
        for loaded in (name.rsplit(".", count)[0] for count in range(name.count(".") + 1)):
            if loaded in self.modules and loaded not in self._loaded:
                self._loaded.add(loaded)
                self._queue += [(self.modules[loaded], node) for node in self.modules[loaded].runs]

    def _name(self, module: str, name: str) -> str:
        """Reach a name of a module. Returns the module that it stands for, if it stands for one."""
        own = self.modules.get(module)
        if own is None:
            return ""
        if name in own.definitions:
            definition, nodes = own.definitions[name]
            if definition not in self.seen:
                self.seen.add(definition)
                self._queue += [(own, node) for node in nodes]
            return ""
        if name in own.imports:
            other, part = own.imports[name]
            whole = f"{other}.{part}" if part else other
            if whole in self.modules:
                self._load(whole)
                return whole
            return self._name(other, part) if part else ""
        return ""

    def _read(self, module: Module, root: ast.AST) -> None:
        hidden = _locals(root)
        for node in ast.walk(root):
            if isinstance(node, ast.Import | ast.ImportFrom):
                self._load_all(node)
            elif isinstance(node, ast.Name) and node.id not in hidden:
                self._name(module.name, node.id)
            elif isinstance(node, ast.Attribute):
                self._words.add(node.attr)
                if isinstance(node.value, ast.Name) and (other := self._name(module.name, node.value.id)):
                    self._name(other, node.attr)
            elif isinstance(node, ast.Constant) and isinstance(node.value, str):
                self._words.add(node.value)
            elif isinstance(node, ast.JoinedStr):
                self._patterns |= set(_patterns(node))

    def _load_all(self, node: ast.Import | ast.ImportFrom) -> None:
        start = ""
        if isinstance(node, ast.ImportFrom):
            self._load(node.module or "")
            start = f"{node.module}."
        for alias in node.names:
            self._load(f"{start}{alias.name}")


def _locals(root: ast.AST) -> set[str]:
    """Names that a function keeps for itself, and that so hide those at the top of the file."""
    if not isinstance(root, FUNCTIONS):
        return set()
    imported = {
        alias.asname or alias.name
        for node in ast.walk(root)
        if isinstance(node, ast.Import | ast.ImportFrom)
        for alias in node.names
    }
    arguments = {node.arg for node in ast.walk(root) if isinstance(node, ast.arg)}
    stored = {node.id for node in ast.walk(root) if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store)}
    return (arguments | stored) - imported


def _patterns(node: ast.JoinedStr) -> Iterator[str]:
    """What names an f-string may come to, where at least three letters of it stand fast."""
    parts = [part.value if isinstance(part, ast.Constant) else None for part in node.values]
    fast = "".join(part for part in parts if isinstance(part, str))
    if re.fullmatch(r"\w{3,}", fast):
        yield "".join(r"\w+" if part is None else re.escape(str(part)) for part in parts)
