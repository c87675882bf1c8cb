"""What is let in as a photo or a paper: verified by its content, whatever it calls itself."""

from fleet.services.content.accepted import Content, FileTooLarge, UnsupportedFile
from fleet.services.content.gate import admit

__all__ = ["Content", "FileTooLarge", "UnsupportedFile", "admit"]
