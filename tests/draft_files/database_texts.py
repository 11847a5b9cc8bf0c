"""The database behind a small booking program: clients, visits, ears."""

SCHEMA = """
CREATE TABLE clients (
    client_id INTEGER PRIMARY KEY, last_name TEXT, first_name TEXT, date_of_birth TEXT, gender TEXT, mobile TEXT,
    gp_practice TEXT, share_with_gp INTEGER, marketing_ok INTEGER
);
CREATE TABLE visits (
    visit_id INTEGER PRIMARY KEY, client_id INTEGER REFERENCES clients, started_at INTEGER, clinician TEXT,
    complaint TEXT, treatment_consent TEXT, status TEXT, private_notes TEXT, invoice_pence INTEGER
);
CREATE TABLE ears (
    ear_id INTEGER PRIMARY KEY, visit_id INTEGER REFERENCES visits, side TEXT, occlusion INTEGER, wax_type TEXT,
    canal TEXT, tm_pre TEXT, method TEXT, tube_mm REAL, pressure_mbar INTEGER, seconds INTEGER, result TEXT,
    tm_post TEXT, event TEXT
);
"""

CLIENTS: list[tuple[object, ...]] = [
    (1, "Aldersey", "Fenella", "1949-03-18", "F", "07700 900101", "Weavers Lane Surgery", 1, 0),
    (2, "Brockhurst", "Jabez", "1936-07-02", "M", "07700 900102", "Weavers Lane Surgery", 0, 0),
    (3, "Culpin", "Araminta", "1990-12-25", "F", "07700 900103", "Tide Mill Practice", 1, 1),
    (4, "Dauncey", "Orson", "2016-05-09", "M", "07700 900104", "Tide Mill Practice", 1, 0),
    (5, "Everleigh", "Thomasin", "1958-10-31", "F", None, None, None, 0),
    (6, "Fothering", "Linus", "1971-01-14", "M", "07700 900106", "Weavers Lane Surgery", 1, 1),
    (7, "Gallop", "Perpetua", "1931-06-06", "F", "07700 900107", "Tide Mill Practice", -1, 0),
    (8, "Aldersey", "Fenella", "1977-08-29", "F", "07700 900108", "Tide Mill Practice", 1, 0),
]  # fmt: skip
"""`share_with_gp`: 1 and 0 are the ticks of a form, -1 is what the program writes for `not yet asked`."""

VISITS: list[tuple[object, ...]] = [
    (501, 1, 1775034000, "HB", "blocked right ear", "signed", "seen", None, 6000),
    (502, 2, 1775036700, "HB", "hearing aids whistle", "verbal", "seen", "always late", 6000),
    (503, 3, 1775120400, "NM", "itchy left ear", "signed", "seen", None, 4500),
    (504, 4, 1775124000, "NM", "failed school test", "parent", "seen", "mother anxious", 4500),
    (505, 5, 1775206800, "HB", "tinnitus", "verbal", "seen", None, 3000),
    (506, 6, 1775210400, "HB", "surfer, water trapped", "signed", "seen", None, 6000),
    (507, 7, 1775293200, "NM", "care home round", "best interests", "seen", "daughter present", 7500),
    (508, 8, 1775296800, "NM", "annual", "signed", "seen", None, 6000),
    (509, 1, 1776243600, "HB", "recheck", "signed", "no show", None, 0),
    (510, 2, 1776247200, "HB", "left blocked", "withdrawn", "seen", "refund half", 3000),
    (511, 6, 1776330000, "NM", "sudden loss left", "signed", "seen", "phoned surgery", 0),
]  # fmt: skip

EARS: list[tuple[object, ...]] = [
    (1, 501, "R", 100, "hard, dark", "normal", "not visible", "microsuction", 2.0, 350, 210,
     "complete", "normal", None),
    (2, 501, "L", 5, "soft", "normal", "normal", None, None, None, None, None, None, None),
    (3, 502, "R", 60, "sticky", "narrow", "partly visible", "microsuction", 1.8, 300, 240, "complete", "normal", None),
    (4, 502, "L", 70, "sticky", "narrow", "not visible", "microsuction", 1.8, 300, 300, "partial",
     "not visible", "cough"),
    (5, 503, "R", 0, None, "normal", "normal", None, None, None, None, None, None, None),
    (6, 503, "L", 15, "debris", "red, swollen", "not visible", "none", None, None, None,
     "not attempted", None, "?otitis externa"),
    (7, 504, "R", 100, "hard", "normal", "not visible", "curette", None, None, 60, "stopped",
     "not visible", "would not keep still"),
    (8, 504, "L", 100, "hard", "normal", "not visible", "none", None, None, None, "not attempted", None, None),
    (9, 505, "R", 0, None, "normal", "normal", None, None, None, None, None, None, None),
    (10, 505, "L", 0, None, "normal", "dull, ?fluid", None, None, None, None, None, None, None),
    (11, 506, "B", 40, "wet", "exostoses", "partly visible", "microsuction", 1.5, 250, 420,
     "complete", "normal", None),
    (12, 507, "R", 90, "hard", "not checked", "not visible", "irrigation", None, None, 180,
     "complete", "intact", None),
    (13, 507, "L", 90, "hard", "not checked", "not visible", "none", None, None, None, "refused", None, "distressed"),
    (14, 508, "B", 20, "soft", "normal", "normal", "microsuction", 2.0, 300, 150, "complete", "normal", None),
    (15, 510, "L", 80, "hard", "narrow", "not visible", "microsuction", 1.8, 300, 45, "stopped",
     "not visible", "vertigo 3 min"),
    (16, 510, "R", None, None, None, "not examined", None, None, None, None, None, None, None),
    (17, 511, "R", 0, None, "normal", "normal", None, None, None, None, None, None, None),
    (18, 511, "L", 0, None, "normal", "normal", None, None, None, None, None, None, None),
]  # fmt: skip
