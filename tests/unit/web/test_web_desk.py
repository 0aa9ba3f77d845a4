"""A question that is overtaken while somebody waits for its answer."""

import threading

from inkhorn.web.desk import Desk


def test_a_question_overtaken_by_a_later_entry_is_still_being_worked_on() -> None:
    """Who waited for it gets the earlier answer, or none, and no error."""
    desk, go = Desk(), threading.Event()
    found = []
    try:
        desk.ask("what holds the thread", 1, lambda: go.wait(20))
        waiting = threading.Thread(
            target=lambda: found.append(desk.ask("counsel", 2, lambda: "old", patience=20))
        )
        waiting.start()
        while ("counsel", 2) not in desk._asked:
            pass
        # An entry came meanwhile: the same question about a later daybook drops the earlier one.
        desk.ask("counsel", 3, lambda: "new")
        waiting.join(20)
    finally:
        go.set()
        desk.close()
    assert found[0].working
    assert found[0].value is None
