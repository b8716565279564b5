"""What can go wrong with one file, and what each failure becomes outside.

AnalysisError        one file failed; the batch goes on
├── UnreadableFile   not a STEP file we can load          -> status "unreadable"
└── KernelFailure    OpenCascade raised or gave up        -> status "partial" + problem
SettingsError        shop, policy or limits file is wrong -> exit status 2
"""


class AnalysisError(Exception):
    """One file could not be analysed, wholly or in part; the batch goes on."""


class UnreadableFile(AnalysisError):
    """The file is not a STEP file that can be loaded: says what was found and what was expected.

    `code` is the kind of defect that it is for the report, of `analyzers.model.health.KINDS`.
    """

    def __init__(self, message: str, code: str = "not_step") -> None:
        super().__init__(message, code)
        self.code = code

    def __str__(self) -> str:
        return str(self.args[0])


class KernelFailure(AnalysisError):
    """OpenCascade raised an exception or answered "not done"."""


class SettingsError(Exception):
    """A shop, policy or limits file is wrong: says which file, where, what was found and what was expected."""
