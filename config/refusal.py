"""What an action raises when it will not do what was asked."""


class Refusal(Exception):
    """A refusal whose text a nurse or a bookkeeper can read: what happened, and what to do instead.

    Each action declares its own subclasses beside it, named for the obstacle. `field` names the form's
    field at which the sentence belongs; empty means the whole form.
    """

    field = ""
