"""A French hearing-aid shop that also cleans ears: consultations, and its price list on a second sheet."""

from datetime import date, time

from tests.draft_files.workbook import Cell, Page, Percent

GROUPS: list[Cell] = [
    "N°", "Date", "Heure", "Patient", None, None, "Motif", "Oreille droite", None, None, None, None, None,
    "Oreille gauche", None, None, None, None, None, "Consentement", None, "Médecin traitant", "À revoir", "Notes",
]  # fmt: skip
NAMES: list[Cell] = [
    None, None, None, "Nom", "Prénom", "Né(e) le", None,
    *["Cérumen", "Obstruction", "Conduit", "Tympan", "Geste", "Après"] * 2, "Soin", "Courrier MT", None, None, None,
]  # fmt: skip


def ear(wax: str | None, share: float | None, canal: str | None, drum: str | None, work: str | None = None,
        after: str | None = None) -> list[Cell]:  # fmt: skip
    return [wax, None if share is None else Percent(share), canal, drum, work, after]


def row(number: int, day: date, hour: time, who: list[Cell], why: str | None, right: list[Cell], left: list[Cell],
        end: list[Cell]) -> list[Cell]:  # fmt: skip
    return [number, day, hour, *who, why, *right, *left, *end]


NONE: list[Cell] = [None] * 6
RAS = ear("absent", 0, "RAS", "RAS")

ROWS: list[list[Cell]] = [
    GROUPS,
    NAMES,
    row(1, date(2026, 3, 2), time(9, 0), ["Vauquelin", "Élodie", date(1952, 6, 3)], "oreille bouchée à droite",
        ear("bouchon dur, brun foncé", 1, "RAS", "NV", "aspiration", "libre, tympan RAS"),
        ear("un peu, mou", 0.1, "RAS", "RAS", "rien", None),
        ["oui", "oui", "Dr Delorme-Faucher", "6 mois", None]),
    row(2, date(2026, 3, 2), time(9, 45), ["Brasquet", "Honoré", date(1939, 12, 19)], "appareils qui sifflent",
        ear("collant", 0.6, "étroit", "vu en partie, RAS", "aspiration", "libre"),
        ear("collant", 0.7, "étroit", "NV", "aspiration", "reste 20 % au fond, tympan NV"),
        ["oui", "non", "Cabinet des Tilleuls", "3 mois", "anticoagulant"]),
    row(3, date(2026, 3, 3), time(10, 30), ["Sénéchal-Ruet", "Maïlys", date(1994, 1, 27)], "démangeaisons à gauche",
        RAS,
        ear("débris humides", 0.2, "rouge, gonflé", "NV (œdème)", "non fait, douleur", None),
        ["oui", "oui", "Cabinet des Tilleuls", None, "suspicion d'otite externe, merci de voir la patiente"]),
    row(4, date(2026, 3, 3), time(11, 15), ["Ozanne", "Firmin", date(1946, 8, 8)], "contrôle cavité gauche",
        ear("absent", 0, "RAS", "RAS"),
        ear("cérumen et kératine", 0.5, "cavité d'évidement, sèche", "sans objet", "aspiration", "propre"),
        ["oui", "oui", "Dr Delorme-Faucher", "4 mois", "opéré en 1981 ; vertige bref"]),
    row(5, date(2026, 3, 4), time(14, 0), ["Le Goadec", "Nolwenn", date(2016, 9, 14)], "surdité signalée à l'école",
        ear("bouchon dur", 1, "RAS", "NV", "curette, arrêté (enfant agité)", "reste 80 %"),
        ear("bouchon dur", 1, "RAS", "NV", "non tenté", None),
        ["mère", "oui", "Dr Pelletan", "15 jours", "gouttes avant"]),
    row(6, date(2026, 3, 4), time(15, 0), ["Hazebrouck", "Gaston", date(1961, 4, 30)], "acouphène droit",
        RAS, RAS, ["oui", "à demander", "inconnu", None, "pas de bouchon"]),
    row(7, date(2026, 3, 5), time(9, 0), ["Tissandier", "Ludivine", date(1978, 2, 11)], "perforation connue à droite",
        ear("mou", 0.4, "RAS", "perforation ancienne, sèche", "aspiration", "libre"),
        ear("absent", 0, "RAS", "cicatrice, intact", "rien", None),
        ["oui", "oui", "Dr Delorme-Faucher", "12 mois", "jamais d'eau dans l'oreille droite"]),
    row(8, date(2026, 3, 5), time(9, 45), ["Quesnoy", "Ambroise", date(1930, 10, 22)], "EHPAD, visite",
        ear("dur", 0.9, None, "NV", "lavage 37 °C", "libre, tympan RAS"),
        ear("dur", 0.9, None, "NV", "refusé par le patient", None),
        ["fille (habilitation)", "oui", "Cabinet des Tilleuls", "6 mois", None]),
    row(9, date(2026, 3, 9), time(10, 0), ["Ravaillon", "Solène", date(1987, 7, 7)],
        "coton resté dans l'oreille gauche",
        NONE,
        ear("coton, peu de cérumen", None, "RAS", "NV", "pince", "libre, éraflure du plancher, tympan RAS"),
        ["oui", "refus", "Dr Pelletan", None, "oreille droite non examinée"]),
    row(10, date(2026, 3, 9), time(10, 30), ["Thibaudet", "Aristide", date(1955, 5, 25)], "entend moins",
        ear("moyen, jaune", 0.5, "exostoses", "RAS", "aspiration", "libre"),
        ear("moyen, jaune", 0.5, "exostoses", "RAS", "aspiration", "libre"),
        ["oui", "oui", "Dr Pelletan", "12 mois", None]),
    row(11, date(2026, 3, 10), time(9, 0), ["Vauquelin", "Élodie", date(1985, 11, 30)], "routine",
        ear("un peu", 0.15, "RAS", "RAS", "rien", None), ear("un peu", 0.15, "RAS", "RAS", "rien", None),
        ["oui", "non", "aucun", "12 mois", "homonyme du n° 1"]),
    row(12, date(2026, 3, 10), time(9, 30), ["Castelnau-Birac", "Ferdinand", date(1943, 3, 3)],
        "surdité brusque à gauche depuis hier",
        RAS, ear("absent", 0, "RAS", "RAS", "rien", None),
        ["oui", "oui", "Dr Delorme-Faucher", "ORL ce jour", "cabinet appelé à 9 h 50"]),
    row(13, date(2026, 3, 11), time(11, 0), ["Zimmer", "Odette", date(1949, 9, 9)], None,
        NONE, NONE, [None, None, "Dr Pelletan", None, "absente, non excusée"]),
    row(14, date(2026, 3, 11), time(14, 30), ["Fauconnier", "Blaise", date(1970, 1, 1)], "moulage",
        ear("poils, peu", 0.05, "RAS", "RAS", "rien", None),
        ear("sec", 0.35, "RAS", "?", "curette", "libre, tympan RAS"),
        ["oui", "oui", "Cabinet des Tilleuls", None, None]),
    row(15, date(2026, 3, 12), time(10, 0), ["Marchais", "Yvonne", date(1937, 2, 2)], "bouchons",
        ear("dur", 0.8, "RAS", "NV", "aspiration", "saignement, arrêté ; reste 50 %"),
        ear("dur", 0.8, "RAS", "NV", "reporté", None),
        ["oui, puis arrêt demandé", "oui", "Dr Delorme-Faucher", "1 semaine", "mal supporté"]),
    row(16, date(2026, 3, 12), time(11, 0), ["Pruvost", "Célestin", date(1968, 6, 21)], "oreille gauche qui coule",
        ear("absent", 0, "RAS", "RAS"),
        ear("pus", None, "humide", "perforation centrale ?", "mèche", "moins de pus"),
        ["oui", "oui", "Dr Pelletan", "voir MT cette semaine", None]),
]  # fmt: skip

PRICES: list[list[Cell]] = [
    ["Prestation", "Prix"],
    ["Une oreille", 45],
    ["Deux oreilles", 70],
    ["Visite à domicile", 30],
]

MERGED = ["A1:A2", "B1:B2", "C1:C2", "D1:F1", "G1:G2", "H1:M1", "N1:S1", "T1:U1", "V1:V2", "W1:W2", "X1:X2"]
PAGES = [Page("Consultations", ROWS, MERGED), Page("Tarifs", PRICES)]
