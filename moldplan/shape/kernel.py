"""The solid kernel, started in one place, and what to say when it cannot start.

In       nothing.
Out      the cadquery module; KernelError names the system library that is missing and the package that brings it.
Not here any geometry.

The kernel's wheel links against libraries of the desktop (OpenGL, X11) that a bare server does not have. That is no
bug of ours and no mistake of the builder's: one line with the package to install is all there is to say.
"""

from __future__ import annotations

import re
from types import ModuleType

from moldplan.errors import KernelError

# names of Debian packages, as `apt-file search` gives them; other systems call them much the same
PACKAGES = {
    "libGL.so.1": "libgl1",
    "libGLU.so.1": "libglu1-mesa",
    "libEGL.so.1": "libegl1",
    "libX11.so.6": "libx11-6",
    "libXext.so.6": "libxext6",
    "libXrender.so.1": "libxrender1",
    "libXcursor.so.1": "libxcursor1",
    "libXfixes.so.3": "libxfixes3",
    "libSM.so.6": "libsm6",
    "libICE.so.6": "libice6",
    "libfontconfig.so.1": "libfontconfig1",
    "libfreetype.so.6": "libfreetype6",
    "libexpat.so.1": "libexpat1",
    "libgomp.so.1": "libgomp1",
}


def kernel() -> ModuleType:
    """The cadquery module. Raises KernelError when a system library that it needs is missing."""
    try:
        import cadquery
    except ImportError as error:
        library = missing_library(error)
        if library is None:
            raise  # cadquery itself is broken or absent: a fault of the installation, with its traceback
        raise KernelError(sentence(library)) from error
    return cadquery


def missing_library(error: ImportError) -> str | None:
    """The shared library that an import missed, or None when the import failed for another reason."""
    found = re.search(r"(lib[\w.+-]+\.so[\w.]*): cannot open shared object file", str(error))
    return found[1] if found else None


def sentence(library: str) -> str:
    """What to install for a library that is missing."""
    package = PACKAGES.get(library)
    if package is None:
        return f"the solid kernel needs {library}, which this system does not have; install the package that brings it"
    return (f"the solid kernel needs {library}, which this system does not have; on Debian and Ubuntu: "
            f"sudo apt-get install {package}")
