"""All is stated in pyproject.toml, save one step: a wheel takes the shipped masts inside the package.

In the repository they stand at the top, where a reader finds them; an editable install uses them there.
"""

import shutil
from pathlib import Path

from setuptools import setup
from setuptools.command.build_py import build_py


class WithProfiles(build_py):
    """Builds the package, and copies ``profiles`` into it."""

    def run(self) -> None:
        """Build."""
        super().run()
        if not self.editable_mode:
            inside = Path(self.build_lib) / "mastcheck" / "profiles"
            shutil.rmtree(inside, ignore_errors=True)
            shutil.copytree("profiles", inside, ignore=shutil.ignore_patterns(".*"))


setup(cmdclass={"build_py": WithProfiles})
