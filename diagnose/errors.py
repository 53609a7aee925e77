"""Every error the product raises on purpose; each message says where and what to do."""


def printable(text: str) -> str:
    """Text from people or files, made harmless for a terminal: no escapes, no direction overrides, one line."""
    return "".join(c if c.isprintable() else " " for c in text)


class DiagnoseError(Exception):
    """Base of all deliberate errors. The front ends print the message, never a traceback."""

    def __str__(self) -> str:
        """The message, harmless for a terminal whatever it quotes."""
        return "\n".join(map(printable, super().__str__().split("\n")))


class KnowledgeError(DiagnoseError):
    """The knowledge base cannot be used; `problems` lists every reason found."""

    def __init__(self, message: str, problems: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.problems = problems


class AnswerError(DiagnoseError):
    """An answer could not be read; the message is a friendly re-ask."""


class CalculationError(DiagnoseError):
    """A calculator was given numbers that have no physical meaning."""


class SessionError(DiagnoseError):
    """An event is not allowed in the present state; the session is unchanged."""


class VisitError(DiagnoseError):
    """A visit file or profile cannot be read or written."""


class LanguageError(DiagnoseError):
    """A language is not there, or its files cannot be read."""


class SettingsError(DiagnoseError):
    """A setting, or a secret in a file of its own, cannot be used."""


class UsersError(DiagnoseError):
    """A user or a password is not taken, or the file of users cannot be used."""
