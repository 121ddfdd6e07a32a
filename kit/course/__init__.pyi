"""The course: exercises with fresh numbers, checked answers, hints in steps, and a learner's progress.

These are the public names of the room; ``__init__.py`` fetches each from its file when it is first used.
"""

from .catalogue import exercise as exercise
from .catalogue import exercises_of as exercises_of
from .catalogue import lessons as lessons
from .checking import Verdict as Verdict
from .checking import check as check
from .checking import check_formula as check_formula
from .checking import formula_answer as formula_answer
from .class_table import as_class_csv as as_class_csv
from .class_table import as_class_xlsx as as_class_xlsx
from .draw import Draw as Draw
from .enclosed import Enclosed as Enclosed
from .hand_in import HandIn as HandIn
from .hand_in import Mark as Mark
from .hand_in import hand_in_text as hand_in_text
from .hand_in import marks as marks
from .hand_in import read_hand_in as read_hand_in
from .listing import Listing as Listing
from .marking import ClassMarks as ClassMarks
from .marking import Learner as Learner
from .marking import mark_folder as mark_folder
from .pictures import Picture as Picture
from .pictures import picture_to_hand_in as picture_to_hand_in
from .pictures import small_picture as small_picture
from .progress import Progress as Progress
from .progress import Try as Try
from .progress import read_progress as read_progress
from .progress import save_progress as save_progress
from .reading import glossary as glossary
from .reading import key_words as key_words
from .reading import refusal as refusal
from .reading import tell as tell
from .reading import what_comes_when as what_comes_when
from .school import ask as ask
from .school import assignment as assignment
from .school import must_be_right as must_be_right
from .school import right_answer as right_answer
from .tasks import Exercise as Exercise
from .tasks import Goal as Goal
from .tasks import Mistake as Mistake
from .tasks import Task as Task
