-- The database of the second treatment room, as text. Everything in it is invented.
CREATE TABLE clients (
    client_no TEXT PRIMARY KEY, surname TEXT NOT NULL, first_name TEXT NOT NULL, born TEXT NOT NULL, sex TEXT,
    nhs_number TEXT, nhs_status TEXT, address TEXT, town TEXT, postcode TEXT, country TEXT, phone TEXT, gp TEXT
);
CREATE TABLE visits (
    visit_no TEXT PRIMARY KEY, client_no TEXT NOT NULL REFERENCES clients (client_no), day TEXT NOT NULL, started TEXT,
    ended TEXT, seen_by TEXT, reason TEXT, cautions TEXT, allergies TEXT, medicines TEXT, drops_before TEXT,
    consent TEXT, tell_gp TEXT, why_not TEXT, advice TEXT, next_step TEXT, ask_gp TEXT, note TEXT, written_up TEXT,
    read_by TEXT, read_at TEXT
);
CREATE TABLE ears (
    visit_no TEXT NOT NULL REFERENCES visits (visit_no), ear TEXT NOT NULL, symptoms TEXT, view TEXT, why_not_seen TEXT,
    wax TEXT, wax_percent INTEGER, wax_type TEXT, contents TEXT, canal TEXT, drum TEXT, method TEXT, instrument TEXT,
    water_celsius REAL, outcome TEXT, outcome_reason TEXT, events TEXT, pain INTEGER, wax_after TEXT,
    wax_percent_after INTEGER, canal_after TEXT, drum_after TEXT, hearing TEXT, impression TEXT,
    PRIMARY KEY (visit_no, ear)
);
INSERT INTO clients VALUES
    ('C-1022', 'Merriweather-Stroud', 'Jocasta', '2001-02-11', 'F', '999 063 5919', 'traced', '14 Bobbin Street', 'Aldersby', 'ZX9 2RD', NULL, '07700 900123', 'AG'),
    ('C-1023', 'Lindqvist-Moreau', 'Anaïs', '1983-08-05', 'F', NULL, NULL, '12 Quai des Tanneurs', 'Saint-Ouvry', NULL, 'France', NULL, 'abroad'),
    ('C-1024', 'Dunstanville', 'Peregrine', '1966-12-19', 'M', '999 851 6064', 'traced', '7 Coldharbour', 'Marrowdale', 'ZX3 2BN', NULL, '07700 900124', 'MD');
INSERT INTO visits VALUES
    ('M26-0123', 'C-1022', '2026-09-07', '12:00', '12:25', 'JB', 'foreign body', 'none', 'none', 'none', 'none', 'given', 'given', NULL, 'no cotton buds; safety net', 'f/u as needed', 'nothing', 'The tip of a cotton bud, in the ear since the day before.', '2026-09-07 12:31', 'JB', '2026-09-07 17:10'),
    ('M26-0124', 'C-1023', '2026-09-14', '09:45', '10:10', 'JB', 'blocked feeling', 'none', 'none', 'none', 'olive oil', 'given', 'given', NULL, 'keep dry', 'f/u as needed', 'nothing', 'Here on holiday until the end of the month.', '2026-09-14 10:16', 'JB', '2026-09-14 17:00'),
    ('M26-0125', 'C-1024', '2026-09-21', '10:30', '11:05', 'JB', 'blocked feeling', 'none', 'none', 'none', 'sodium bicarbonate', 'given', 'given', NULL, 'keep dry; safety net', 'f/u 12/12', 'nothing', NULL, '2026-09-21 11:12', 'JB', '2026-09-21 17:25');
INSERT INTO ears VALUES
    ('M26-0123', 'R', NULL, 'full', NULL, 'none', 0, NULL, NULL, 'normal', 'normal', NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL),
    ('M26-0123', 'L', 'something in the ear; no pain', 'part', 'foreign body', 'minimal', 5, NULL, 'cotton bud tip', 'normal', 'not seen (foreign body)', 'removal of foreign body', 'crocodile forceps', NULL, 'complete', NULL, 'no bleeding', 1, 'minimal', 5, 'normal', 'normal', 'better', 'foreign body'),
    ('M26-0124', 'R', 'blocked feeling', 'part', 'wax', 'heavy', 90, 'soft', NULL, 'normal', 'not seen (wax)', 'microsuction', 'fine end', NULL, 'complete', NULL, 'no bleeding', 0, 'none', 0, 'normal', 'normal', 'better', 'excess wax'),
    ('M26-0124', 'L', 'no pain', 'full', NULL, 'mild', 20, 'soft', NULL, 'normal', 'normal', NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL),
    ('M26-0125', 'R', 'blocked feeling', 'part', 'wax', 'heavy', 80, 'soft', NULL, 'normal', 'not seen (wax)', 'irrigation', 'electronic irrigator', 37, 'complete', NULL, 'no dizziness', 1, 'none', 0, 'normal', 'normal', 'better', 'impacted wax'),
    ('M26-0125', 'L', 'blocked feeling', 'part', 'wax', 'heavy', 70, 'soft', NULL, 'normal', 'not seen (wax)', 'irrigation', 'electronic irrigator', 37, 'complete', NULL, 'no dizziness', 1, 'none', 0, 'normal', 'normal', 'better', 'impacted wax');
