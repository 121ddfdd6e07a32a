"""The one-shot commands: what they write, what they say where, and how they end."""

from __future__ import annotations

import re
import sqlite3
import subprocess
import sys
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from kit import __main__ as command
from kit.bench.cost import INVENTED
from kit.bench.dilution import make_stock
from kit.commands import CLEAN, FAILED, OF_THEIR_OWN, STOP, commands
from kit.demos import demo
from kit.environment import AGAIN
from kit.formula.files import save_formula
from kit.formula.model import Formula, Line, Phase
from kit.label.particulars import particulars_file, save_particulars
from kit.label.statements import collected, read_statement, save_statements
from kit.library.ingredient import Ingredient
from kit.library.own import OWN_FILE, save_own
from kit.papers.pdf import INSTEAD
from kit.resources import resource_folder
from kit.stability.demo import write_demo_log
from tests.papers.reading import Page

if TYPE_CHECKING:
    from collections.abc import Callable

ROOT = Path(__file__).resolve().parent.parent.parent
SHAKE = "shake.toml"


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of one's own, with the invented shake in it."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv(AGAIN, raising=False)
    save_formula(demo(), Path(SHAKE))
    return tmp_path


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str, str]]:
    """Run a command; its exit code, what it wrote to standard output, and to standard error."""

    def work(*arguments: str) -> tuple[int, str, str]:
        capsys.readouterr()
        code = command.main(arguments)
        said = capsys.readouterr()
        return code, said.out, said.err

    return work


def text_of(name: str) -> str:
    """A paper that was written, as it is read."""
    return " ".join(Page(Path(name).read_text(encoding="utf-8")).text.split())


def test_the_batch_sheet_is_written_and_named(run: Callable[..., tuple[int, str, str]]) -> None:
    given = ("--batch", "820 g", "--capacity", "1000", "--lot", "TL-07", "--ph", "4.5 to 4.8")
    code, out, err = run("sheet", SHAKE, *given, "--material-lot", "Glycerin=G-12", "--made-by", "A. N. Maker")
    assert (code, out) == (CLEAN, "batch_sheet_after_swim_body_shake_tl_07.html\n")
    assert err.startswith("note: Measure the pH of the water layer")
    assert len(err.splitlines()) == 1
    said = text_of(out.strip())
    for words in ("Weigh 820.00 g", "Glycerin G-12 4.000 32.80", "4.5 to 4.8", "A. N. Maker", "TL-07"):
        assert words in said


def test_findings_go_to_standard_error_and_cautions_end_it_cleanly(run: Callable[..., tuple[int, str, str]]) -> None:
    code, out, err = run("sheet", SHAKE, "--batch", "250 g", "--balance", "0.01 g")
    assert (code, out) == (CLEAN, "batch_sheet_after_swim_body_shake.html\n")
    assert [line.split(":")[0] for line in err.splitlines()] == ["caution", "note"]
    assert "caution: 3 lines are small for a balance that reads 0.01 g" in err
    assert "Parfum 0.25 g (sound from 820 g)" in err
    nobody_said_which = run("sheet", SHAKE, "--batch", "250 g")[2]
    assert "small for a balance" not in nobody_said_which


def test_a_stop_ends_with_1_and_the_paper_is_there_with_it_at_its_head(
    run: Callable[..., tuple[int, str, str]],
) -> None:
    water = Phase("W", "water", (Line("Aqua", "q.s."), Line("Sodium Benzoate", "9")))
    save_formula(Formula("Strong", (water,)), Path("strong.toml"))
    code, out, err = run("sheet", "strong.toml", "--batch", "900 g", "--capacity", "2000")
    assert (code, out) == (STOP, "batch_sheet_strong.html\n")
    assert err.startswith("stop: Sodium Benzoate, counted as Benzoic Acid, comes to ")
    said = text_of("batch_sheet_strong.html")
    assert said.index("stop Sodium Benzoate, counted as Benzoic Acid") < said.index("Weigh 900.00 g")


def test_a_formula_that_cannot_be_weighed_is_printed_without_grams(run: Callable[..., tuple[int, str, str]]) -> None:
    save_formula(Formula("Half", (Phase("W", "water", (Line("Aqua", "50"),)),)), Path("half.toml"))
    code, _, err = run("sheet", "half.toml")
    assert code == STOP
    assert "stop: Half cannot be weighed yet: it adds to 50 %, not 100 %" in err
    said = text_of("batch_sheet_half.html")
    assert "Cannot be weighed yet" in said
    assert "Aqua 50.000 — —" in said


def test_bottles_and_balance_are_taken(run: Callable[..., tuple[int, str, str]]) -> None:
    given = ("--bottles", "6", "--fill", "90 mL", "--bottle", "round 100 mL", "--balance", "0.1", "--overage", "5")
    code, _, _ = run("sheet", SHAKE, *given, "--out", "mine.html")
    assert code == CLEAN
    said = text_of("mine.html")
    assert re.search(r"Weigh 56\d\.\d g", said)  # 6 x 90 mL of about 1 g/mL, and 5 %
    assert "overage 5 %, process loss 0 %. Balance reads 0.1 g" in said
    assert "round 100 mL, 90 mL filled" in said


def test_the_card_prints_the_batches_asked_for(run: Callable[..., tuple[int, str, str]]) -> None:
    code, out, _ = run(
        "card", SHAKE, "--for", "50 g", "2 kg", "6 x 100 mL", "--keeping", "cool and dark", "--paper", "letter"
    )
    assert (code, out) == (CLEAN, "formula_card_after_swim_body_shake.html\n")
    said = text_of(out.strip())
    assert "for 50 g for 2000 g for 6 x 100 mL" in said
    assert re.search(r"Glycerin 4.000 2.00 80.00 2\d\.\d\d ", said)
    assert "cool and dark" in said
    assert "@page { size: Letter;" in Path(out.strip()).read_text(encoding="utf-8")


@pytest.mark.parametrize("place", ["eu", "us"])
def test_the_label_text_says_what_is_missing(run: Callable[..., tuple[int, str, str]], place: str) -> None:
    code, out, err = run("label", SHAKE, "--jurisdiction", place, "--content", "85 mL", "--function", "body oil")
    assert (code, out) == (CLEAN, f"label_text_after_swim_body_shake_{place}.html\n")
    said = text_of(out.strip())
    assert "body oil" in said
    assert ("85 mL (84 g)" in said) == (place == "eu")
    assert ("2.87 fl oz (85 mL)" in said) == (place == "us")
    assert "What is missing" in said
    assert err


def test_certificates_about_allergens_are_read(run: Callable[..., tuple[int, str, str]]) -> None:
    save_statements(Path("said.csv"), collected([read_statement("Parfum", "Limonene 7")]))
    assert "Nothing is known about the allergens" in run("label", SHAKE)[2]
    code, out, err = run("label", SHAKE, "--allergens", "said.csv")
    assert code == CLEAN
    assert "Nothing is known about the allergens" not in err
    assert "Parfum, Limonene" in text_of(out.strip())
    Path("said.csv").rename("allergen_statements.csv")
    assert "Nothing is known about the allergens" not in run("label", SHAKE)[2]


def test_what_the_label_panel_kept_is_printed_unless_something_else_is_asked_for(
    run: Callable[..., tuple[int, str, str]],
) -> None:
    save_particulars(particulars_file(demo().title), {"function": "body oil", "content": "60 mL", "batch_code": "TL-9"})
    said = text_of(run("label", SHAKE, "--batch-code", "TL-10")[1].strip())
    assert "60 mL (59 g)" in said
    assert ("body oil" in said, "TL-9" in said, "TL-10" in said) == (True, False, True)


@pytest.mark.parametrize("name", ["sheet", "card", "label", "cost"])
def test_a_version_as_it_was_kept_is_printed(run: Callable[..., tuple[int, str, str]], name: str) -> None:
    assert run(name, SHAKE, "--kept", "2", "--out", "old.html")[0] == CLEAN
    assert "· version 2 ·" in text_of("old.html")
    run(name, SHAKE, "--out", "new.html")
    assert "· version 3 ·" in text_of("new.html")
    code, _, err = run(name, SHAKE, "--kept", "9")
    assert (code, err) == (
        FAILED,
        "No version 9 of After-swim body shake was kept. Those that were: 2, 3.\n",
    )


def test_a_text_that_cannot_be_read_is_named_by_its_option(run: Callable[..., tuple[int, str, str]]) -> None:
    code, out, err = run("sheet", SHAKE, "--made-on", "soon", "--yield-within", "120")
    assert (code, out) == (FAILED, "")
    first, second = err.splitlines()
    assert first == "--made-on: 'soon' is not a day. Write year-month-day, such as 2026-03-14."
    assert second.startswith("--yield-within")


def test_labels_for_stocks(run: Callable[..., tuple[int, str, str]]) -> None:
    code, out, _ = run("stock", SHAKE, "--copies", "4", "--made-on", "2026-03-01")
    assert (code, out) == (CLEAN, "stock_labels_after_swim_body_shake.html\n")
    assert text_of(out.strip()).count("Citric Acid 10 % stock") == 5  # four labels and the title
    save_formula(Formula("Plain", (Phase("W", "water", (Line("Aqua", "100"),)),)), Path("plain.toml"))
    assert run("stock", "plain.toml") == (
        FAILED,
        "",
        "There is no stock to label. Make one first, or open a formula that holds one.\n",
    )


def test_sheets_to_make_stocks_by(run: Callable[..., tuple[int, str, str]]) -> None:
    code, out, err = run("stock", SHAKE, "--make", "250 g", "--lot", "S-1")
    assert (code, out) == (CLEAN, "stock_sheet_citric_acid_10_stock_s_1.html\n")
    assert "It holds water: make little" in err
    said = text_of(out.strip())
    assert "Weigh 250.00 g" in said
    assert "Citric Acid" in said
    assert "25.00" in said  # 10 % of 250 g
    two = replace(demo(), materials=(*demo().materials, make_stock("Salt 5 % stock", "Sodium Chloride", 5)))
    save_formula(two, Path("two.toml"))
    assert run("stock", "two.toml", "--make", "100 g", "--out", "x.html")[1] == (
        "stock_sheet_citric_acid_10_stock.html\nstock_sheet_salt_5_stock.html\n"
    )
    assert run("stock", "two.toml", "--make", "100 g", "--name", "vinegar")[2].startswith("There is no stock to make.")
    assert 'Write "100 g"' in run("stock", SHAKE, "--make", "100")[2]


def test_whose_limits_and_which_ph_decide_the_findings(run: Callable[..., tuple[int, str, str]]) -> None:
    water = Phase("W", "water", (Line("Aqua", "q.s."), Line("Sodium Benzoate", "0.9")))
    save_formula(Formula("Strong", (water,)), Path("strong.toml"))
    assert run("check", "strong.toml")[0] == STOP
    assert run("check", "strong.toml", "--jurisdiction", "us")[0] == CLEAN
    assert "You measured 6.5" in run("check", SHAKE, "--measured-ph", "6,5")[2]
    assert run("check", SHAKE, "--measured-ph", "15")[0] == FAILED


def test_costs_at_the_invented_list_and_at_ones_own(run: Callable[..., tuple[int, str, str]]) -> None:
    code, out, err = run("cost", SHAKE, "--bottles", "6", "--fill", "90 mL")
    assert (code, out) == (CLEAN, "cost_sheet_after_swim_body_shake.html\n")
    assert "6 bottles" in text_of(out.strip())
    assert INVENTED in text_of(out.strip())
    assert INVENTED in err
    Path("own.csv").write_text("material,amount,unit,price\nAqua,1,kg,1 EUR\n", encoding="utf-8")
    code, _, err = run("cost", SHAKE, "--prices", "own.csv", "--out", "own.html")
    assert code == CLEAN
    assert "caution: The total is at least what is shown: there is no usable price for" in err
    assert "price list own.csv" in text_of("own.html")
    assert INVENTED not in text_of("own.html")
    Path("own.csv").rename("prices.csv")
    assert run("cost", SHAKE, "--out", "here.html")[0] == CLEAN
    assert "price list prices.csv" in text_of("here.html")


def test_ones_own_ingredients_are_found_beside_the_formula(run: Callable[..., tuple[int, str, str]]) -> None:
    water = Phase("Water", "water", (Line("Aqua", "q.s."), Line("Cera Nova", "3")))
    save_formula(Formula("Wax", (water,)), Path("wax.toml"))
    assert "Cera Nova is not in the library" in run("check", "wax.toml")[2]
    save_own(Path(OWN_FILE), [Ingredient("Cera Nova", own=True)])
    assert "Cera Nova is not in the library" not in run("check", "wax.toml")[2]


def test_versions_and_files_are_compared(run: Callable[..., tuple[int, str, str]]) -> None:
    code, out, _ = run("compare", SHAKE)
    assert (code, out) == (CLEAN, "comparison_after_swim_body_shake.html\n")
    assert "Glycerin" in text_of(out.strip())
    for name in ("a.toml", "b.toml"):
        save_formula(replace(demo(), earlier=()), Path(name))
    assert run("compare", "a.toml", "b.toml", SHAKE, "--out", "three.html")[0] == CLEAN
    said = text_of("three.html")
    assert "Comparison of 3 versions" in said
    code, _, err = run("compare", "a.toml")
    assert (code, err) == (FAILED, "Choose from 2 to 5 versions to compare; 1 is chosen.\n")


def test_check_says_and_counts_and_writes_nothing(run: Callable[..., tuple[int, str, str]], folder: Path) -> None:
    water = Phase("W", "water", (Line("Aqua", "q.s."), Line("Moon\x1b[31m dust\u202e", "9")))
    save_formula(Formula("Odd", (water,)), Path("odd.toml"))
    before = sorted(folder.iterdir())
    code, out, err = run("check", "odd.toml")
    counted, looked_up = out.splitlines()
    assert (code, counted) == (CLEAN, "Odd, version 1: 2 cautions.")
    assert "1 of 2 materials is unknown to it: Moon⟨U+001B⟩[31m dust⟨U+202E⟩." in looked_up
    assert "Moon⟨U+001B⟩[31m dust⟨U+202E⟩ is not in the library" in err
    assert "\x1b" not in err
    assert "\u202e" not in err
    assert sorted(folder.iterdir()) == before


def test_own_ingredients_are_known(run: Callable[..., tuple[int, str, str]]) -> None:
    water = Phase("W", "water", (Line("Aqua", "q.s."), Line("Moon dust", "9"), Line("Sodium Benzoate", "0.4")))
    save_formula(Formula("Odd", (water,)), Path("odd.toml"))
    assert "Moon dust is not in the library" in run("check", "odd.toml")[2]
    Path("own.csv").write_text("inci\nMoon dust\n", encoding="utf-8")
    assert "Moon dust is not in the library" not in run("check", "odd.toml", "--own", "own.csv")[2]


# ---- stability --------------------------------------------------------------------------------------------


@pytest.fixture
def log(folder: Path) -> str:
    write_demo_log(folder / "log.db")
    return "log.db"


def test_papers_of_a_study(run: Callable[..., tuple[int, str, str]], log: str) -> None:
    code, out, _ = run("report", log, "--today", "2026-04-20", "--written-by", "A. N. Maker")
    assert (code, out) == (CLEAN, "stability_report_after_swim_body_shake_twelve_weeks_invented.html\n")
    assert "as of 2026-04-20" in text_of(out.strip())
    assert run("plan", log, "--study", "1", "--out", "plan.html")[:2] == (CLEAN, "plan.html\n")
    assert "TL-01" in text_of("plan.html")
    assert run("record", log, "--today", "2026-02-05", "--out", "record.html")[0] == CLEAN
    assert "4 weeks" in text_of("record.html")
    code, _, err = run("record", log, "--pull", "5 weeks")
    assert code == FAILED
    assert "5 weeks" in err


def test_a_log_is_verified_and_never_made(run: Callable[..., tuple[int, str, str]], log: str, folder: Path) -> None:
    code, out, err = run("verify", log)
    said, noted = out.splitlines()
    assert (code, said) == (CLEAN, "log.db: no damage found."), err
    anchor = noted.removeprefix("To note: ")
    code, out, _ = run("verify", log, "--anchor", anchor)
    assert code == CLEAN
    assert "The anchor is of this log: everything up to it is as it was when it was noted." in out
    code, out, err = run("verify", log, "--anchor", "12 · 0123-4567-89ab-cdef")
    assert (code, out) == (STOP, "log.db: damaged or changed, see above.\n")
    assert "The anchor 12 · 0123-4567-89ab-cdef is not of this log as it is now" in err
    assert "is not an anchor" in run("verify", log, "--anchor", "12")[2]
    run("report", log, "--out", "report.html")
    assert anchor in text_of("report.html")
    assert run("verify", "none.db")[0] == run("report", "none.db")[0] == FAILED
    assert not (folder / "none.db").exists()
    assert "There is no stability log none.db." in run("plan", "none.db")[2]


def test_a_reading_changed_behind_the_logs_back_stands_at_the_head_of_the_report(
    run: Callable[..., tuple[int, str, str]], log: str
) -> None:
    with closing(sqlite3.connect(log)) as connection:
        connection.execute("DROP TRIGGER observations_update_refused")
        connection.execute("UPDATE observations SET note = 'nothing to see' WHERE id = 7")
        connection.commit()
    code, _, err = run("report", log, "--out", "report.html")
    assert code == STOP
    assert "Reading 7, or its link in the chain, is not as it was saved." in err
    assert "Reading 7, or its link in the chain, is not as it was saved." in text_of("report.html")


def test_a_backup_and_a_restore(run: Callable[..., tuple[int, str, str]], log: str, folder: Path) -> None:
    code, out, err = run("backup", log)
    backup, looked, noted = out.splitlines()
    assert (code, err) == (CLEAN, "")
    assert looked.startswith("Looked through: studies 1, readings 914")
    assert noted.startswith("To note: ")
    assert Path(backup).parent == folder.resolve()
    code, out, _ = run("restore", backup)
    place, kept = out.splitlines()
    assert (code, place) == (CLEAN, str(folder.resolve() / "log.db"))
    assert kept.startswith("What lay there is kept as log.db.before-restore-")
    assert run("restore", backup, "new.db")[1] == f"{folder.resolve() / 'new.db'}\n"
    assert "does not say which log it is of" in run("restore", "new.db")[2]
    assert run("backup", "none.db")[0] == run("restore", "none.db")[0] == FAILED
    assert "its own backup is the server's" in run("backup", "postgresql://ada@host/class")[2]


def test_a_damaged_log_ends_with_1_or_2(run: Callable[..., tuple[int, str, str]], log: str) -> None:
    path = Path(log)
    data = bytearray(path.read_bytes())
    data[4096:] = bytes(len(data) - 4096)
    path.write_bytes(data)
    code, _, err = run("verify", log)
    assert code in (STOP, FAILED)
    assert err
    assert "Traceback" not in err


def test_where_there_are_several_studies_one_is_asked_for(run: Callable[..., tuple[int, str, str]]) -> None:
    from kit.stability.log.store import StabilityLog

    log = StabilityLog.open("two.db")
    for title in ("Spring", "Autumn"):
        log.start_study(title, "home-twelve-weeks", ["A"], "2026-01-05")
    code, _, err = run("report", "two.db")
    assert code == FAILED
    assert "Say which study with --study and its number. The log holds 1: Spring; 2: Autumn." in err


# ---- bad input ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("check", "none.toml"), "there is no file none.toml"),
        (("check", "."), "files of this kind cannot be used"),
        (("check", "folder.toml"), "there is no file folder.toml"),
        (("check", "bytes.csv"), "it is not saved as UTF-8 text"),
        (("check", "bytes.xlsx"), "it cannot be read as a workbook"),
        (("check", "bytes.toml"), "it cannot be read as text; save it as UTF-8"),
        (("sheet", SHAKE, "--batch", "250"), "batch has no unit (got '250'). Write \"250 g\"."),
        (("sheet", SHAKE, "--balance", "x"), "x"),
        (("sheet", SHAKE, "--bottle", "jug"), "There is no bottle 'jug'. Write one of round 30 mL, "),
        (("sheet", SHAKE, "--material-lot", "Glycerin"), "'Glycerin' does not say the lot of a material."),
        (("sheet", SHAKE, "--out", "no/such/sheet.html"), "was not saved: its folder is not there"),
        (("card", SHAKE, "--for", "0 g"), "Make more"),
        (("label", SHAKE, "--content", "85"), "'85' is not a net content."),
        (("cost", SHAKE, "--prices", "none.csv"), "none.csv cannot be read: there is no such file"),
        (("compare", SHAKE, "none.toml"), "there is no file none.toml"),
        (("stock", SHAKE, "--copies", "0"), "Print 1 to 100 labels of each stock, not 0."),
        (("report", SHAKE), SHAKE),
    ],
)
def test_what_cannot_be_done_is_a_sentence_and_ends_with_2(
    run: Callable[..., tuple[int, str, str]], arguments: tuple[str, ...], words: str
) -> None:
    Path("folder.toml").mkdir()
    for suffix in ("csv", "xlsx", "toml"):
        Path(f"bytes.{suffix}").write_bytes(b"\xff\xfe\x00\x80")
    code, out, err = run(*arguments)
    assert (code, out) == (FAILED, "")
    assert words in err
    assert "Traceback" not in err


@pytest.mark.parametrize("name", commands())
def test_every_command_has_help_and_says_what_it_lacks(run: Callable[..., tuple[int, str, str]], name: str) -> None:
    code, out, _ = run(name, "--help")
    assert code == CLEAN
    assert f"usage: python -m kit {name}" in out
    assert f"Example: python -m kit {name} " in out
    if name == "app":
        return  # it lacks nothing: without a folder it opens the usual one
    code, out, err = run(name)
    assert (code, out) == (FAILED, "")
    assert "the following arguments are required" in err


def test_a_pdf_that_cannot_be_printed_leaves_the_html(
    run: Callable[..., tuple[int, str, str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SHAKEWELL_CHROMIUM", "/nowhere/browser")
    code, out, err = run("card", SHAKE, "--pdf")
    assert (code, out) == (FAILED, "formula_card_after_swim_body_shake.html\n")
    assert err.rstrip().endswith(INSTEAD)
    assert Path(out.strip()).is_file()


def test_a_pdf_lies_beside_the_html(run: Callable[..., tuple[int, str, str]], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("kit.papers.writing.print_pdf", lambda html: b"%PDF-" + html[:15].encode())
    assert run("card", SHAKE, "--out", "mine.pdf")[:2] == (CLEAN, "mine.html\nmine.pdf\n")
    assert Path("mine.pdf").read_bytes() == b"%PDF-<!DOCTYPE html>"


# ---- as a program -------------------------------------------------------------------------------------------


def test_as_a_program_of_its_own(folder: Path) -> None:
    again = [sys.executable, "-m", "kit"]
    done = subprocess.run([*again, "check", SHAKE], cwd=folder, capture_output=True, text=True, check=False)
    assert done.returncode == CLEAN
    assert done.stderr.startswith("note: Measure the pH of the water layer")
    found, looked_up = done.stdout.splitlines()
    assert found == "After-swim body shake, version 3: 1 note."
    assert re.match(
        r"Compared with \d+ rules of the European Union .* all 11 materials are known to the kit", looked_up
    )
    broken = folder / "broken.toml"
    broken.write_text("title = \n", encoding="utf-8")
    done = subprocess.run([*again, "sheet", "broken.toml"], cwd=folder, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (FAILED, "")
    assert done.stderr.startswith("broken.toml has 1 fault; nothing was changed.\n- line 1, column 8:")


def test_help_of_a_command_needs_no_packages(fresh_python: Callable[..., str]) -> None:
    code = (
        "import sys\nbefore = set(sys.modules)\nimport kit.__main__ as command\n"
        "command.missing_packages = lambda clone: ['everything']\n"
        "for name in command.commands():\n    assert command.main([name, '--help']) == 0\n"
        "new = {name.split('.')[0] for name in set(sys.modules) - before}\n"
        "print(sorted(new - sys.stdlib_module_names))"
    )
    assert fresh_python(code).endswith("['kit', 'rfc3987_syntax']")


def test_in_a_fresh_clone_it_runs_again_in_its_own_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    noted: list[object] = []
    monkeypatch.setattr(command, "missing_packages", lambda clone, extras: ["jinja2"])
    monkeypatch.setattr(command, "prepare", lambda clone, extras: clone / ".venv" / "bin" / "python")

    def run_again(python: Path, arguments: list[str]) -> int:
        noted.append((python, arguments))
        return 7

    monkeypatch.setattr(command, "run_again", run_again)
    assert command.main(["sheet", SHAKE, "--batch", "250 g"]) == 7
    assert noted == [(ROOT / ".venv" / "bin" / "python", ["-m", "kit", "sheet", SHAKE, "--batch", "250 g"])]


def test_the_environment_cannot_be_made_is_a_sentence(
    run: Callable[..., tuple[int, str, str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(command, "missing_packages", lambda clone, extras: ["jinja2"])
    monkeypatch.setenv(AGAIN, "1")
    code, _, err = run("check", SHAKE)
    assert code == 1
    assert "lacks jinja2. Delete that folder and run the same command again." in err


def test_every_command_stands_in_the_help_of_the_whole(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as end:
        command.main(["--help"])
    assert end.value.code == 0
    said = capsys.readouterr().out
    assert all(f"\n  {name} " in said for name in commands())
    assert {path.stem for path in (ROOT / "kit" / "commands").glob("*.py")} >= set(OF_THEIR_OWN)
    assert (resource_folder("data") / "demo" / "prices.csv").is_file()
