"""``inkhorn record`` and ``inkhorn daybook``: say what was done, read what was said."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

import inkhorn
from inkhorn.cli.output import FAULT, Command, fault, json_flag, say, say_json
from inkhorn.errors import EntryError, InkhornError, StoreError
from inkhorn.report import lines

_ANSWER = "@answer"
#: So many entries in one go are the steps of a course; more are a book that is brought in.
_TOGETHER = 8


@click.command(cls=Command)
@click.argument("directory", metavar="DIR")
@click.argument("entry", required=False)
@click.option(
    "--json",
    "source",
    is_flag=False,
    flag_value=_ANSWER,
    metavar="[- | FILE | JSON]",
    help="Take entries from standard input (-), a file, or the JSON itself; answer in JSON.",
)
@click.option("--who", help="Of a sentence: who says it.")
@click.option("--at", metavar="TIME", help="Of a sentence: when it is said, if not now (2026-09-12T10:15).")
@click.option("--yes", is_flag=True, help="Of a sentence: record it although something in it was guessed.")
@click.option("--dry", is_flag=True, help="Of a sentence: only say how it would be understood.")
@click.option("--remark", "as_remark", is_flag=True, help="Keep the sentence as a remark, whatever it says.")
@click.pass_context
def record(
    ctx: click.Context,
    directory: str,
    entry: str | None,
    source: str | None,
    who: str | None,
    at: str | None,
    *,
    yes: bool,
    dry: bool,
    as_remark: bool,
) -> None:
    """Record what you did or noticed.

    ENTRY is a sentence ("put 40 g of vitriol in the pot"), one JSON object, an
    array of them, one object a line, or a file of any of these. Several are
    recorded one by one; the first that cannot be stops the rest.
    """
    as_json = source is not None
    sentence = _sentence(entry, source)
    if sentence is not None:
        hear(ctx, directory, sentence, as_json=as_json, who=who, at=at, yes=yes, dry=dry, as_remark=as_remark)
        return
    kept: list[dict[str, Any]] = []
    warned: set[str] = set()
    try:
        with inkhorn.Workshop.open(directory) as workshop:
            for obj in entries(_text(entry, source)):
                receipt = workshop.receive(obj).to_dict()
                kept.append(receipt)
                if not as_json:
                    _read_back(receipt, warned)
    except InkhornError as error:
        fault(error, as_json=as_json, kept=len(kept), recorded=kept)
        if not as_json and kept:
            said = (
                "1 entry before it is kept" if len(kept) == 1 else f"{len(kept)} entries before it are kept"
            )
            click.echo(f"{said}; nothing from it on.", err=True)
        ctx.exit(FAULT)
    if as_json:
        say_json({"kept": len(kept), "recorded": kept})
    elif 1 < len(kept) <= _TOGETHER:
        _way_back(kept)


def _sentence(entry: str | None, source: str | None) -> str | None:
    """Return what was given where it is a sentence: several words, and neither JSON nor a file."""
    given = source if source not in {None, _ANSWER} else entry
    if given is None or given == "-" or given.lstrip().startswith(("{", "[")):
        return None
    plain = given.strip()
    if Path(plain).is_file() or Path(plain).suffix in {".json", ".jsonl"}:
        return None
    return plain


def hear(ctx: click.Context, directory: str, text: str, *, as_json: bool, **how: Any) -> None:
    """Understand a sentence and record it, or ask; what was asked exits as a fault does."""
    with inkhorn.Workshop.open(directory) as workshop:
        found = workshop.say(text, **how)
    answer = found.to_dict()
    if as_json:
        say_json(answer)
    else:
        _say_back(answer)
    if answer["outcome"] not in ("recorded", "understood") or found.faults:
        ctx.exit(FAULT)


def _say_back(answer: dict[str, Any]) -> None:
    for receipt in answer["recorded"]:
        _read_back(receipt, set())
    if answer["recorded"]:
        _way_back(answer["recorded"])
    elif answer["entries"]:
        for line in answer["entries"]:
            say(f"{line['when']}: {line['sentence']}")
    question = answer["question"]
    if question:
        click.echo(question["text"], err=True)
        if question["choices"]:
            click.echo(f"   {', '.join(question['choices'])}", err=True)
        click.echo(f"   {question['mend']}.", err=True)
    for guess in answer["guesses"] if answer["outcome"] in ("guessed", "recorded") else ():
        say(f"   {guess}.")
    if answer["outcome"] == "guessed":
        click.echo("Nothing is recorded yet: say it again with --yes if that is right.", err=True)
    if answer["why"]:
        text = answer["why"]
        click.echo(f"{text[0].upper()}{text[1:]}{'' if text.endswith('.') else '.'}", err=True)
        if answer["outcome"] == "refused" and not answer["entries"]:
            click.echo("Nothing is recorded. To keep it as a remark, say it again with --remark.", err=True)


def _way_back(receipts: list[dict[str, Any]]) -> None:
    """Say how to take back what was recorded in one go, all of it together."""
    what = "it" if len(receipts) == 1 else "them" if len(receipts) > 2 else "both"
    numbers = ", ".join(str(receipt["number"]) for receipt in receipts)
    say(f'   To take {what} back: inkhorn record DIR "void {numbers}"')


def _read_back(receipt: dict[str, Any], warned: set[str]) -> None:
    """Say one receipt back; a caution that was said before in the same go is not said again."""
    say(f"{receipt['number']}  {receipt['sentence']}")
    for notice in receipt.get("notices", ()):
        say(f"   {notice}")
    for flag in receipt.get("flags", ()):
        say(f"   {flag}")
    for caution in receipt.get("cautions", ()):
        if caution not in warned:
            say(f"   Take care: {caution}")
    warned.update(receipt.get("cautions", ()))


def _text(entry: str | None, source: str | None) -> str:
    """Return the JSON text, wherever it was put: argument, option, file or standard input."""
    given = source if source not in {None, _ANSWER} else entry
    if given is None and not sys.stdin.isatty():
        given = "-"
    if given is None:
        raise EntryError(
            "there is nothing to record",
            mend="Give a sentence, an entry as JSON, a file of them, or - for standard input",
        )
    if given == "-":
        return _utf8(sys.stdin.buffer.read(), "standard input")
    if given.lstrip().startswith(("{", "[")):
        return given
    path = Path(given)
    if not path.is_file():
        raise EntryError(
            "this is neither JSON nor a file",
            where=given,
            mend='An entry looks like {"at": "2026-09-12T10:15", "kind": "remark", "text": "first frost"}',
        )
    return _utf8(path.read_bytes(), given)


def _utf8(content: bytes, where: str) -> str:
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise StoreError("this is not UTF-8 text", where=where) from error


def entries(text: str) -> Iterator[Any]:
    """Yield each entry of a JSON object, a JSON array, or JSON lines.

    Lines are read as they come, so that those before a faulty one are kept.
    """
    stripped = text.strip()
    if not stripped:
        raise EntryError(
            "there is nothing to record", mend="Give one JSON object, an array, or one object a line"
        )
    try:
        whole = json.loads(stripped)
    except json.JSONDecodeError as error:
        single = [(n, line) for n, line in enumerate(text.splitlines(), 1) if line.strip()]
        if stripped.startswith("[") or len(single) == 1 or not _is_json(single[0][1]):
            raise _not_json(error) from error
    else:
        yield from whole if isinstance(whole, list) else [whole]
        return
    for n, line in single:
        try:
            yield json.loads(line)
        except json.JSONDecodeError as error:
            raise _not_json(error, line=n) from error


def _is_json(line: str) -> bool:
    try:
        json.loads(line)
    except json.JSONDecodeError:
        return False
    return True


def _not_json(error: json.JSONDecodeError, *, line: int | None = None) -> EntryError:
    return EntryError(
        f"this cannot be read as JSON ({error.msg[0].lower()}{error.msg[1:]} at character {error.colno})",
        where=f"line {line or error.lineno}",
        mend="Names and texts stand in double quotes, with a comma between two of them",
    )


@click.command(cls=Command)
@click.argument("directory", metavar="DIR")
@json_flag
def daybook(directory: str, as_json: bool) -> None:
    """Read the daybook from the first entry to the last."""
    with inkhorn.Workshop.open(directory) as workshop:
        book = [lines.told(recorded) for recorded in workshop.daybook]
    if as_json:
        say_json(book)
        return
    if not book:
        say("Nothing is recorded yet.")
    for line in book:
        say(f"{line['number']:>4}  {lines.when(line)}  {lines.sentence(line)}")
