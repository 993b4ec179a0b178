"""`manage.py plan_letters FILE.json`: which yarn is A, which B, out of meetings and yarns."""

import json
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import Any, Final

from django.core.management.base import CommandParser

from kal.management.refusing import OneLineCommand, refuse
from palettes.colour.contrast import Grade
from palettes.colour.errors import ColourError
from palettes.colour.letters import (
    ALPHABET,
    MAX_YARNS,
    NEEDS,
    Assignment,
    LetterPlan,
    Meeting,
    Outcome,
    plan_letters,
)
from palettes.colour.quantities import Quantity
from palettes.colour.spaces import hex_to_lab
from palettes.colour.swatch import TYPICAL_SPREAD, Fabric, Need, Swatch
from palettes.management.inputs import fault_in_name, read_text, told_as

DIGITS = 4
UNITS: Final = (("grams", "g"), ("metres", "m"))
# What may be said of a yarn's amount, and its name in a swatch.
AMOUNTS: Final = {"balls": "balls", "grams": "put_up_grams", "metres": "put_up_metres"}
_KINDS: Final[Mapping[type, str]] = {dict: "an object", list: "a list", str: "text"}


class Command(OneLineCommand):
    help = (
        "Give a palette's yarns to the letters so that every meeting keeps the contrast it needs."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "file",
            nargs="?",
            metavar="FILE",
            help="JSON with yarns and meetings; - for standard input",
        )
        parser.add_argument("--json", action="store_true", help="print everything as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        file = options["file"]
        if file is None:
            raise refuse("Name a JSON file, or - for standard input.")
        try:
            names, plan = _plan(_parse(read_text(file)))
        except BadQuestion as error:
            raise refuse(f"{told_as(file)}: {error}") from error
        result = _report(plan, names)
        self.stdout.write(json.dumps(result, indent=2) if options["json"] else _as_text(result))


class BadQuestion(ValueError):
    """The file is not a question about letters; the message says where and what would do."""


def _parse(text: str) -> dict[str, Any]:
    try:
        return _object("the file", json.loads(text, object_pairs_hook=_once))
    except json.JSONDecodeError as error:
        where = f"line {error.lineno}, column {error.colno}"
        raise BadQuestion(f"{where}: not JSON ({error.msg}).") from error
    except BadQuestion:
        raise
    except ValueError as error:
        raise BadQuestion("there is a number in it of more digits than can be read.") from error
    except RecursionError as error:
        raise BadQuestion("not such JSON as is wanted: nested too deep.") from error


def _once(pairs: Sequence[tuple[str, Any]]) -> dict[str, Any]:
    keys = [key for key, _ in pairs]
    for key in keys:
        if keys.count(key) > 1:
            raise BadQuestion(f"{key!r} is said twice in one object.")
    return dict(pairs)


def _plan(question: dict[str, Any]) -> tuple[list[str], LetterPlan]:
    _only("the file", question, ("yarns", "meetings", "letters", "fixed", "gauge", "needs"))
    yarns = _each("yarns", question, _yarn, MAX_YARNS)
    names = [yarn.name for yarn in yarns]
    for place, name in enumerate(names):
        if name in names[:place]:
            raise BadQuestion(f"yarns[{place}]: {name!r} is there already; give each its own name.")
    # Each pair of letters may be named for each grade, and nothing is gained by more.
    meetings = _each("meetings", question, _meeting, MAX_YARNS * MAX_YARNS * len(NEEDS))
    letters, fixed, needs = _letters(question), _fixed(question, names), _needs(question)
    try:
        fabric = _gauge(question)
        plan = plan_letters(
            yarns, meetings, letters=letters, fixed=fixed, fabric=fabric, needs=needs
        )
    except ColourError as error:
        raise BadQuestion(str(error)) from error
    for need in needs:
        if need.letter not in ALPHABET[: len(plan.best.yarns)]:
            last = ALPHABET[len(plan.best.yarns) - 1]
            raise BadQuestion(f"needs.{need.letter}: the letters are A to {last}.")
    return names, plan


def _each[T](
    key: str, question: Mapping[str, Any], read: Callable[[str, Any], T], most: int
) -> list[T]:
    if key not in question:
        raise BadQuestion(f"there are no {key!r}.")
    items = _of_kind(key, question[key], list)
    if len(items) > most:
        raise BadQuestion(f"{key}: {len(items)} given; at most {most}.")
    return [read(f"{key}[{place}]", item) for place, item in enumerate(items)]


def _yarn(where: str, item: Any) -> Swatch:
    fields = _object(where, item)
    _only(where, fields, ("name", "hex", "spread", "dye_style", *AMOUNTS))
    name = _text(where, fields, "name").strip()
    if fault := fault_in_name(name):
        raise BadQuestion(f"{where}: {fault}")
    style = fields.get("dye_style")
    if style is not None and style not in list(TYPICAL_SPREAD):
        allowed = ", ".join(TYPICAL_SPREAD)
        raise BadQuestion(f"{where}.dye_style is {style!r}; give one of {allowed}.")
    spread = _number(f"{where}.spread", fields.get("spread", 0))
    lab = _refusing(where, lambda: hex_to_lab(_text(where, fields, "hex")))
    amounts: dict[str, Any] = {
        field: _number(f"{where}.{key}", fields[key])
        for key, field in AMOUNTS.items()
        if fields.get(key) is not None
    }
    return _refusing(where, lambda: Swatch(name, lab, spread=spread, dye_style=style, **amounts))


def _meeting(where: str, item: Any) -> Meeting:
    fields = _object(where, item)
    _only(where, fields, ("letters", "needs"))
    letters = _text(where, fields, "letters")
    if len(letters) != 2:
        raise BadQuestion(f"{where}.letters is {letters!r}; give two letters, such as 'AB'.")
    needs = _text(where, fields, "needs")
    if needs not in NEEDS:
        raise BadQuestion(f"{where}.needs is {needs!r}; give one of {', '.join(NEEDS)}.")
    return _refusing(where, lambda: Meeting(letters[0], letters[1], Grade(needs)))


def _letters(question: Mapping[str, Any]) -> int | None:
    letters = question.get("letters")
    if letters is not None and (isinstance(letters, bool) or not isinstance(letters, int)):
        raise BadQuestion(f"letters is {letters!r}; give how many there are, such as 5.")
    return letters


def _fixed(question: Mapping[str, Any], names: Sequence[str]) -> dict[str, int]:
    fixed = _object("fixed", question.get("fixed", {}))
    for letter, name in fixed.items():
        if name not in names:
            raise BadQuestion(f"fixed.{letter} is {name!r}, which is not among the yarns.")
    return {letter: names.index(name) for letter, name in fixed.items()}


def _needs(question: Mapping[str, Any]) -> list[Need]:
    needs = []
    for letter, item in _object("needs", question.get("needs", {})).items():
        where = f"needs.{letter}"
        if len(letter) != 1 or letter not in ALPHABET:
            raise BadQuestion(f"{where}: there is no such letter; use A to {ALPHABET[-1]}.")
        fields = _object(where, item)
        _only(where, fields, ("grams", "metres"))
        grams, metres = (_amount(where, fields, key) for key in ("grams", "metres"))
        needs.append(_refusing(where, partial(Need, letter, grams, metres)))
    return sorted(needs, key=lambda need: need.letter)


def _amount(where: str, fields: Mapping[str, Any], key: str) -> float:
    if key not in fields:
        raise BadQuestion(f"{where}: there is no {key!r}.")
    return _number(f"{where}.{key}", fields[key])


def _gauge(question: Mapping[str, Any]) -> Fabric:
    gauge, usual = _object("gauge", question.get("gauge", {})), Fabric()
    _only("gauge", gauge, ("stitches", "rows"))
    return Fabric(
        _number("gauge.stitches", gauge.get("stitches", usual.stitches_per_10cm)),
        _number("gauge.rows", gauge.get("rows", usual.rows_per_10cm)),
    )


def _refusing[T](where: str, make: Callable[[], T]) -> T:
    try:
        return make()
    except ColourError as error:
        raise BadQuestion(f"{where}: {error}") from error


def _object(where: str, value: Any) -> dict[str, Any]:
    return _of_kind(where, value, dict)


def _of_kind[T](where: str, value: Any, kind: type[T]) -> T:
    if not isinstance(value, kind):
        raise BadQuestion(f"{where} must be {_KINDS[kind]}.")
    return value


def _only(where: str, fields: Mapping[str, Any], allowed: Sequence[str]) -> None:
    for key in fields:
        if key not in allowed:
            raise BadQuestion(f"{where}: {key!r} is unknown; use {', '.join(allowed)}.")


def _text(where: str, fields: Mapping[str, Any], key: str) -> str:
    if key not in fields:
        raise BadQuestion(f"{where}: there is no {key!r}.")
    return _of_kind(f"{where}.{key}", fields[key], str)


def _number(where: str, value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise BadQuestion(f"{where} is {value!r}; give a number.")
    try:
        return float(value)
    except OverflowError as error:
        raise BadQuestion(f"{where} is too large a number.") from error


def _report(plan: LetterPlan, names: Sequence[str]) -> dict[str, Any]:
    second = plan.runner_up
    return {
        "best": _assignment(plan.best, names),
        "runner_up": None if second is None else _assignment(second, names),
        "equally_good": plan.equally_good,
    }


def _assignment(assignment: Assignment, names: Sequence[str]) -> dict[str, Any]:
    worst = assignment.worst_margin
    letters = zip(ALPHABET, assignment.yarns, strict=False)
    return {
        "letters": {letter: names[yarn] for letter, yarn in letters},
        "reads": assignment.reads,
        "worst_margin": None if worst is None else round(worst, DIGITS),
        "meetings": [_outcome(outcome, names) for outcome in assignment.outcomes],
        "short": [_short(line, names) for line in assignment.short],
    }


def _short(line: Quantity, names: Sequence[str]) -> dict[str, Any]:
    return {
        "letter": line.letter,
        "yarn": names[line.yarn],
        "grams": None if line.grams_short is None else float(line.grams_short),
        "metres": None if line.metres_short is None else float(line.metres_short),
        "balls": line.balls_short,
    }


def _outcome(outcome: Outcome, names: Sequence[str]) -> dict[str, Any]:
    return {
        "letters": "".join(outcome.meeting.pair),
        "yarns": [names[yarn] for yarn in outcome.yarns],
        "needs": outcome.meeting.needs.value,
        "grade": outcome.grade.value,
        "left": round(outcome.left, DIGITS),
        "margin": round(outcome.margin, DIGITS),
        "reads": outcome.reads,
    }


def _as_text(result: Mapping[str, Any]) -> str:
    blocks = ["Best", *_lines(result["best"])]
    if result["equally_good"] > 1:
        blocks.append(f"{result['equally_good']} ways to give out the yarns are as good.")
    if result["runner_up"] is not None:
        blocks += ["", "Runner-up", *_lines(result["runner_up"])]
    return "\n".join(blocks)


def _lines(assignment: Mapping[str, Any]) -> list[str]:
    lines = [f"  {letter}  {name}" for letter, name in assignment["letters"].items()]
    for meeting in assignment["meetings"]:
        first, second = meeting["letters"]
        verdict = "reads" if meeting["reads"] else "does not read"
        lines.append(
            f"  {first} with {second}: {verdict}; {meeting['needs']} is needed, it is "
            f"{meeting['grade']}, margin {meeting['margin']:+.1f}"
        )
    for line in assignment["short"]:
        amounts = [f"{line[unit]:g} {sign}" for unit, sign in UNITS if line[unit]]
        balls = "1 ball" if line["balls"] == 1 else f"{line['balls']} balls"
        lines.append(
            f"  {line['letter']}  {line['yarn']} is {' and '.join(amounts)} short: {balls} more"
        )
    return lines
