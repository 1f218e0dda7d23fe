"""What the service takes at most. Each limit is said here and nowhere else.

Knows nothing. The ranges of a joint's or a fixture's own values are not here: they stand
on the attrs fields of those classes.
"""

from __future__ import annotations

__all__ = [
    "ANSWER_TABLES",
    "ASSEMBLY_JOINTS",
    "BATCHES",
    "BATCHES_WAITING",
    "BATCH_BYTES",
    "BATCH_SECONDS",
    "BATCH_TIMES",
    "BATCH_TYPE_SECONDS",
    "BATCH_WAIT_SECONDS",
    "BODY_BYTES",
    "CELL_CHARACTERS",
    "CHANGES",
    "CHANGE_ENDS",
    "CHANGE_PAIRS",
    "CONNECTIONS",
    "DEADLINE_SECONDS",
    "DRAWN_HOLES",
    "EDITION_SIGNS",
    "ERRORS",
    "FIXTURES",
    "FIXTURE_BYTES",
    "FIXTURE_FILES",
    "HALF_SECONDS",
    "IDLE_SECONDS",
    "ID_CHARACTERS",
    "KEPT_ANSWERS",
    "KEPT_CHARACTERS",
    "KEPT_PAGES",
    "KEPT_PIECES",
    "KEPT_QUESTIONS",
    "LIST_ITEMS",
    "LONG",
    "LONG_WAITING",
    "LONG_WAIT_SECONDS",
    "MOST_PLANS",
    "NUMBER_DIGITS",
    "PAIRS",
    "PASSES",
    "PATHS",
    "PATH_CHARACTERS",
    "PIECES",
    "PIECE_BARS",
    "PIECE_IMAGES",
    "PIECE_JOINTS",
    "PLANS",
    "QUIET_SECONDS",
    "SCAN_SECONDS",
    "SEARCH_SECONDS",
    "SETTINGS",
    "SHARE",
    "SHEETS",
    "SHEETS_WAITING",
    "SHEET_WAIT_SECONDS",
    "START_SECONDS",
    "STOP_SECONDS",
    "TABLE_NAMES",
    "THREADS",
    "UNREAD_SECONDS",
    "URL_CHARACTERS",
    "WORKS",
    "in_words",
]

#: A joint with a fixture of its own is some 5 kB of JSON.
BODY_BYTES = 1024 * 1024
BATCH_BYTES = 4 * 1024 * 1024
#: Of a batch, and of every list within a fixture.
LIST_ITEMS = 1000
#: Front beams times bodies of one fixture, each counted once at least: for every setup each pair
#: takes some 0.7 ms.
PAIRS = 400
#: Measured settings of one fixture: what they tell takes the fourth power of their number.
SETTINGS = 60
#: Passes of one joint. Two metres of fingers cut with a kerf of 3 mm have some 800.
PASSES = 10_000
#: And all of these in one batch: so many times what one question may ask for.
BATCH_TIMES = 50
#: Bars of a piece, and of them those that a file's symmetry may make of what it draws; joints; and
#: joints of a piece whose assembly is asked for: the solver for that takes a second for twelve.
PIECE_BARS = 64
PIECE_IMAGES = 256
PIECE_JOINTS = 128
ASSEMBLY_JOINTS = 20
#: Pieces of one batch. One takes half a second, and so do a hundred joints.
PIECES = 50
#: Solved pieces kept for those who ask for another part of the answer; one takes a few MB.
KEPT_PIECES = 8
#: A search for changes of a fixture: works, changes that may be allowed, ends that are cut, those
#: times the pairs of the fixture, plans by default and at most, and how long it may go on. A plan
#: of eight ends takes some 0.2 s.
WORKS = 20
CHANGES = 100
CHANGE_ENDS = 48
CHANGE_PAIRS = 1000
PLANS = 120
MOST_PLANS = 1000
SEARCH_SECONDS = 40
FIXTURES = 10
#: What takes seconds (closing, assembly, pieces in a batch, searches) is done so many at a time;
#: as many may wait, each for so long.
LONG = 2
LONG_WAITING = 4
LONG_WAIT_SECONDS = 60
#: A joint has some twenty parameters. A mebibyte of unknown names would take the reader,
#: which compares them with the known ones, minutes to refuse one by one.
TABLE_NAMES = 200
#: More of them than anybody mends at once are counted, not listed.
ERRORS = 100
#: The longest flat question is under 2,000 characters; spreadsheets send up to 9,000.
URL_CHARACTERS = 8000
ID_CHARACTERS = 80
#: A float has at most 309 digits before its point; int() takes quadratic time in the digits.
NUMBER_DIGITS = 400
#: A cell shows the beginning of a text only.
CELL_CHARACTERS = 200

#: Of a folder of fixtures the first so many files, by name, and of a file so many bytes.
FIXTURE_FILES = 100
FIXTURE_BYTES = 1_000_000
#: A fixture's file is taken once it has been as it is for so long; a folder is looked through
#: again for new ones no more often than this.
QUIET_SECONDS = 1.0
SCAN_SECONDS = 1.0
#: Signs of a file's digest that are told; two editions of one file share six by chance in one of
#: sixteen million cases.
EDITION_SIGNS = 6
#: Paths in one question of a cell or a list, and signs in each.
PATHS = 100
PATH_CHARACTERS = 200

#: Lists and tables in an answer that is looked through before it is written; a large one has some
#: hundreds. More take the slower way, on which a plug-in's list that holds itself comes to an end.
ANSWER_TABLES = 100_000

#: Answers kept for cells that ask again; one is some 100 kB. And what query strings were read as.
KEPT_ANSWERS = 256
KEPT_QUESTIONS = 1024
#: Threads that answer. The work is done under one interpreter lock, so more of them only let short
#: questions overtake long ones; batches, the long ones, may take no more than ``BATCHES`` of them,
#: and as many again may wait for their turn, each for ``BATCH_WAIT_SECONDS``.
THREADS = 16
BATCHES = 4
BATCHES_WAITING = 6
BATCH_WAIT_SECONDS = 60
#: Pages are drawn one at a time, and two may wait.
SHEETS = 1
SHEETS_WAITING = 2
SHEET_WAIT_SECONDS = 30
#: Finished pages kept for whoever asks the same again; one is 0.1 to 0.5 MB, and what has more
#: characters than this is not kept.
KEPT_PAGES = 32
KEPT_CHARACTERS = 1_000_000
#: Holes that are in a board already, where a part of a fixture is drawn: each stands on every one
#: of its sheets, so that a page of a hundred has 2 MB.
DRAWN_HOLES = 100
#: So long may a batch take; its items after that are refused. Less than a stop waits.
BATCH_SECONDS = 100
#: A joint type that does not ship has so long to start and to answer; so many questions to one may
#: be in the service at once.
START_SECONDS = 30
DEADLINE_SECONDS = 10
SHARE = 3
#: And so long may it take of one batch; its items after that are refused.
BATCH_TYPE_SECONDS = 20
#: Connections at once, and how long one may be silent with half a request sent or an answer unread.
CONNECTIONS = 1000
IDLE_SECONDS = 30
#: How long a stop waits for requests under way. A batch of 1,000 joints may take most of it
#: on a slow machine; a second signal does not wait.
STOP_SECONDS = 120
#: And how long for the rest of a request that is sent in part, and for an answer nobody fetches.
HALF_SECONDS = 2
UNREAD_SECONDS = 10


def in_words() -> str:
    """The limits as one paragraph for the API page."""
    return (
        f"Limits: a body of {BODY_BYTES:,} bytes ({BATCH_BYTES:,} for a batch), {LIST_ITEMS:,} "
        f"items in a list, a batch's and the rows of /v1/list among them, {PATHS} paths in one "
        f"question, {PAIRS} front beams times bodies, "
        f"{SETTINGS} measured settings in a fixture, {PASSES:,} passes of a joint (of these three "
        f"{BATCH_TIMES} times as much in a batch or list, which may take {BATCH_SECONDS} s), "
        f"{TABLE_NAMES} names in a table, a URL of "
        f"{URL_CHARACTERS:,} characters, numbers of {NUMBER_DIGITS} characters, an id of "
        f"{ID_CHARACTERS} characters; {PIECE_BARS} bars and {PIECE_JOINTS} joints of a piece, "
        f"{ASSEMBLY_JOINTS} joints where its assembly is asked for, {PIECES} pieces in a batch; of "
        f"a change of a fixture {WORKS} works, {CHANGE_ENDS} ends that are cut, {MOST_PLANS:,} "
        f"plans and {SEARCH_SECONDS} s; {DRAWN_HOLES} holes of a fixture's part that is drawn. Of "
        f"more than {ERRORS} errors the first {ERRORS} are told. "
        "The range of every other value stands beside it below."
    )
