"""The course: exercises with fresh numbers, checked answers, hints in steps, and a learner's progress.

These are the public names of the room; ``__init__.py`` fetches each from its file when it is first used.
"""

from .catalogue import exercise as exercise
from .catalogue import exercises_of as exercises_of
from .catalogue import lessons as lessons
from .checking import Verdict as Verdict
from .checking import check as check
from .checking import check_formula as check_formula
from .draw import Draw as Draw
from .progress import Progress as Progress
from .progress import Try as Try
from .progress import read_progress as read_progress
from .progress import save_progress as save_progress
from .tasks import Exercise as Exercise
from .tasks import Goal as Goal
from .tasks import Mistake as Mistake
from .tasks import Task as Task
