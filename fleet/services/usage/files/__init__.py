"""Usage from files: tables (CSV) and flight recorders (IGC)."""

from fleet.services.usage.files.imports import FileRefused, Imported, import_file
from fleet.services.usage.files.parsed import FileFormat, LaunchKind

__all__ = ["FileFormat", "FileRefused", "Imported", "LaunchKind", "import_file"]
