"""A form that lays itself out from descriptions of its inputs: Python side, script and look."""

from kit.widgets.form.form import Button, Form

__all__ = ["Button", "Form"]
