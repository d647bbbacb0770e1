"""Machine code of `loops`, made by numba once and kept.

numba takes two seconds to load and compile; what it makes needs nothing of it, so from then
on llvmlite loads that in a twentieth of the time. It is kept where Python keeps the bytecode
of this file, or in the user's cache folder; it is told by a hash of the loops, of the library
and of the processor, and read only if it is whole. Where no folder can be written to it is
made anew in each run.

Import this in the function that runs a simulation: not all that a user asks for needs one.
"""

from __future__ import annotations

import ctypes
import functools
import hashlib
import importlib.util
import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

import llvmlite
import llvmlite.binding as llvm
import numpy as np
import numpy.typing as npt

LOOPS: Final = Path(__file__).with_name("loops.py")
# Arguments of each loop: n a whole number, i an array of them, d one of doubles.
ARGUMENTS: Final = {"march_states": "nnnnnnnddidddddddiddddd", "march_water": "nnn" + "d" * 13}
_DIGEST: Final = hashlib.sha256().digest_size
_C_TYPES: Final[dict[str, Any]] = {
    "n": ctypes.c_int64,
    "i": ctypes.c_void_p,
    "d": ctypes.c_void_p,
}
_DTYPES: Final[dict[str, Any]] = {"i": np.int64, "d": np.float64}


def run(loop: str, *given: int | npt.NDArray[np.float64] | npt.NDArray[np.int64]) -> None:
    """Run one of the loops; what it writes to must be of C order already.

    Raises
    ------
    TypeError
        If an array is not of the kind and order it has to be.
    """
    kinds = ARGUMENTS[loop]
    if len(given) != len(kinds):
        raise TypeError(f"{loop} takes {len(kinds)} arguments, got {len(given)}")
    passed: list[int] = []
    for kind, each in zip(kinds, given, strict=True):
        if isinstance(each, np.ndarray):
            if kind == "n" or each.dtype != _DTYPES[kind] or not each.flags.c_contiguous:
                raise TypeError(f"{loop}: an array of {each.dtype} or not in C order")
            passed.append(each.ctypes.data)
        elif kind == "n":
            passed.append(each)
        else:
            raise TypeError(f"{loop}: a number in place of an array")
    _functions()[loop](*passed)


@functools.cache
def _functions() -> dict[str, Callable[..., None]]:
    engine = _engine()
    made: dict[str, Callable[..., None]] = {}
    for name, kinds in ARGUMENTS.items():
        prototype = ctypes.CFUNCTYPE(None, *(_C_TYPES[kind] for kind in kinds))
        made[name] = prototype(engine.get_function_address(name))
    return made


@functools.cache
def _engine() -> Any:
    """The machine code, ready to run; it lives as long as this does."""
    llvm.initialize_native_target()
    llvm.initialize_native_asmprinter()
    machine = llvm.Target.from_triple(llvm.get_process_triple()).create_target_machine(
        cpu=llvm.get_host_cpu_name(), features=_features(), opt=3, jit=True
    )
    engine = llvm.create_mcjit_compiler(llvm.parse_assembly(""), machine)
    engine.add_object_file(llvm.ObjectFileRef.from_data(machine_code(machine)))
    engine.finalize_object()
    return engine


def _features() -> str:
    return str(llvm.get_host_cpu_features().flatten())


def machine_code(machine: Any, folders: tuple[Path, ...] | None = None) -> bytes:
    """The object file, kept or made; its hash before it in the first folder that takes it."""
    folders = _folders() if folders is None else folders
    known = hashlib.sha256(LOOPS.read_bytes() + Path(__file__).read_bytes())
    for part in (llvmlite.__version__, machine.triple, llvm.get_host_cpu_name(), _features()):
        known.update(b"\0" + part.encode())
    name = f"loops-{known.hexdigest()[:32]}.o"
    for folder in folders:
        try:
            kept = (folder / name).read_bytes()
        except OSError:
            continue
        if hashlib.sha256(kept[_DIGEST:]).digest() == kept[:_DIGEST]:
            return kept[_DIGEST:]
    made = _compiled(machine)
    for folder in folders:
        if _written(folder, name, hashlib.sha256(made).digest() + made):
            break
    return made


def _folders() -> tuple[Path, ...]:
    """Beside the bytecode; for who may not write there, where all else is kept (a test says so)."""
    import platformdirs

    beside = Path(importlib.util.cache_from_source(str(LOOPS))).parent
    named = os.environ.get("CUREWINDOW_CACHE")
    if named:
        return beside, Path(named).expanduser()
    return beside, platformdirs.user_cache_path("curewindow", appauthor=False)


def _written(folder: Path, name: str, content: bytes) -> bool:
    """Whether it could be kept there: whole or not at all, whoever else is writing."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        handle, draft = tempfile.mkstemp(prefix=name, dir=folder)
    except OSError:
        return False
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        os.replace(draft, folder / name)
    except OSError:
        Path(draft).unlink(missing_ok=True)
        return False
    return True


def _compiled(machine: Any) -> bytes:
    import numba

    from curewindow.physics.balance import loops

    types: Any = numba.types
    kinds = {
        "n": types.int64,
        "i": types.CPointer(types.int64),
        "d": types.CPointer(types.float64),
    }
    whole = llvm.parse_assembly("")
    # A division by zero gives what it gives in numpy, so nothing can be raised; and with nothing
    # to raise or to allocate the code calls for no part of numba.
    for name, arguments in ARGUMENTS.items():
        signature = types.void(*(kinds[kind] for kind in arguments))
        made = numba.cfunc(signature, error_model="numpy")(getattr(loops, name))
        module = llvm.parse_assembly(made.inspect_llvm())
        module.get_function(made.native_name).name = name
        whole.link_in(module)
    return bytes(machine.emit_object(whole))
