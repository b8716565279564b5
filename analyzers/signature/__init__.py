"""A row of numbers that says what a body is like wherever it lies, so that one seen before is found again."""

from analyzers.signature.nearest import Alike, nearest
from analyzers.signature.numbers import LENGTH, Signature, signature_of

__all__ = ["LENGTH", "Alike", "Signature", "nearest", "signature_of"]
