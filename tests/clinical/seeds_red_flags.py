"""Faults: something that wants another service, found and not sent on. Rows RF01-RF24 name their publications."""

from __future__ import annotations

import random
from typing import Any

from tests.clinical.changing import (
    caution,
    found,
    had,
    healthy_ear,
    kind,
    no_reason,
    say,
    see_in_full,
    without_hearing,
    worked_on,
)  # fmt: skip
from tests.clinical.day import Visit, measure, of_visit

NG98 = "NICE NG98"
EXTERNA = "Herts and West Essex otitis externa pathway"
CRITERIA = "Primary care referral criteria: otitis externa"
SEL = "South East London ENT interface guidelines 2023"


def _unexplained(rng: random.Random, visit: Visit, days: tuple[int, str], since: int, words: str) -> Visit | None:
    """Loss in an ear with nothing in it, or in one that was freed of its wax and hears no better."""
    loss = {
        "term": words, "onset": of_visit(visit).ago(since), "developed_over": measure(*days), "severity": "moderate",
    }  # fmt: skip
    done = worked_on(rng, visit)
    if done and rng.random() < 0.6:
        without_hearing(done[0])
        say(done[0], loss)
        done[0]["hearing_change"] = rng.choice(("same", "worse", "no change"))
    elif ear := healthy_ear(rng, visit):
        without_hearing(ear)
        say(ear, loss)
    else:
        return None
    visit.pop("weber", None)
    return visit


@kind("flag.RF01", "sudden loss within 30 days that nothing in the ear explains, not sent on", f"RF01; {NG98} 1.1.2")
def rf01(rng: random.Random, visit: Visit) -> Visit | None:
    days = rng.choice(((6, "h"), (1, "d"), (2, "d"), (3, "d")))
    return _unexplained(rng, visit, days, rng.randint(4, 30), rng.choice(("sudden hearing loss", "hearing loss")))


@kind("flag.RF02", "sudden loss more than 30 days ago that nothing in the ear explains", f"RF02; {NG98} 1.1.2")
def rf02(rng: random.Random, visit: Visit) -> Visit | None:
    return _unexplained(rng, visit, (rng.randint(1, 3), "d"), rng.randint(31, 300), "sudden hearing loss")


@kind("flag.RF03", "loss that grew over 4 to 90 days and that nothing in the ear explains", f"RF03; {NG98} 1.1.2")
def rf03(rng: random.Random, visit: Visit) -> Visit | None:
    days = rng.choice(((4, "d"), (30, "d"), (90, "d"), (6, "wk")))
    return _unexplained(rng, visit, days, rng.randint(91, 200), rng.choice(("reduced hearing", "hearing loss")))


@kind("flag.loss-untold", "hearing no better after full removal, and not when or how fast it went", "RF01-RF03; 1.2",
      left_out=True)  # fmt: skip
def loss_untold(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit)
    if not done:
        return None
    without_hearing(done[0])
    say(done[0], {"term": "hearing loss"})
    done[0]["hearing_change"] = "same"
    visit.pop("weber", None)
    return visit


@kind("flag.loss-at-odds", "loss said to have grown over longer than it has been there", "RF01-RF03; arithmetic")
def loss_at_odds(rng: random.Random, visit: Visit) -> Visit | None:
    return _unexplained(rng, visit, (rng.randint(5, 12), "wk"), rng.randint(3, 20), "hearing loss")


@kind("flag.RF04", "loss of one ear with a weak or numb face on the same side", f"RF04; {NG98} 1.1.3")
def rf04(rng: random.Random, visit: Visit) -> Visit | None:
    ear, day = healthy_ear(rng, visit), of_visit(visit)
    if not ear:
        return None
    without_hearing(ear)
    face = rng.choice(("facial weakness", "facial droop", "facial numbness"))
    loss = {"term": "hearing loss", "onset": day.ago(5), "developed_over": measure(1, "d")}
    say(ear, loss, {"term": face, "onset": day.ago(5)}, instead=("facial weakness",))
    return visit


@kind(
    "flag.RF05", "weak immunity, loss, pain and discharge no better after 72 hours of treatment", f"RF05; {NG98} 1.1.4"
)
def rf05(rng: random.Random, visit: Visit) -> Visit | None:
    ear, day = healthy_ear(rng, visit), of_visit(visit)
    if not ear:
        return None
    without_hearing(ear)
    onset = day.ago(rng.randint(8, 12))
    say(
        ear,
        {"term": "hearing loss", "onset": onset, "developed_over": measure(2, "d")},
        {"term": "pain", "onset": onset, "severity": "moderate"},
        {"term": "discharge", "onset": onset},
        instead=("pain", "discharge"),
    )
    caution(visit, rng.choice(("immunosuppressed", "chemotherapy", "HIV")))
    visit["medicines"] = [{"name": "antibiotic drops", "start": day.ago(rng.randint(5, 7)), "note": "No better."}]
    found(ear["before"], "canal", "red")
    return visit


@kind("flag.RF06", "fluid behind the drum and loss without a cold; where the family comes from is not recorded",
      f"RF06; {NG98} as summarised", left_out=True)  # fmt: skip
def rf06(rng: random.Random, visit: Visit) -> Visit | None:
    ear, day = healthy_ear(rng, visit), of_visit(visit)
    if not ear:
        return None
    without_hearing(ear)
    say(ear, {"term": "reduced hearing", "onset": day.year(900), "developed_over": measure(2, "a"), "note": "No cold."})
    found(ear["before"], "drum", "effusion", "dull")
    return visit


@kind("flag.RF07", "hearing of one ear as the main concern, with nothing in it", f"RF07; {NG98} as summarised")
def rf07(rng: random.Random, visit: Visit) -> Visit | None:
    ear, day = healthy_ear(rng, visit), of_visit(visit)
    if not ear:
        return None
    without_hearing(ear)
    words = rng.choice(("one sided hearing loss", "asymmetric hearing loss"))
    say(ear, {"term": words, "onset": day.year(900), "developed_over": measure(2, "a")})
    visit["reasons"] = [words]
    return visit


@kind("flag.RF08", "hearing that goes up and down without a cold", f"RF08; {NG98} as summarised")
def rf08(rng: random.Random, visit: Visit) -> Visit | None:
    ear, day = healthy_ear(rng, visit), of_visit(visit)
    if not ear:
        return None
    without_hearing(ear)
    say(ear, {"term": "fluctuating hearing", "onset": day.ago(200), "developed_over": measure(5, "mo")})
    return visit


@kind("flag.RF09", "tinnitus that pulsates, is distressing or new", f"RF09; {NG98} as summarised")
def rf09(rng: random.Random, visit: Visit) -> Visit | None:
    ear, day = healthy_ear(rng, visit), of_visit(visit)
    if not ear:
        return None
    words = rng.choice(("pulsatile tinnitus", "distressing tinnitus", "new tinnitus"))
    say(ear, {"term": words, "onset": day.ago(rng.randint(60, 200)), "severity": "moderate"}, instead=("tinnitus",))
    return visit


@kind("flag.RF10", "vertigo that comes back", f"RF10; {NG98} as summarised")
def rf10(rng: random.Random, visit: Visit) -> Visit | None:
    ear, day = healthy_ear(rng, visit), of_visit(visit)
    if not ear:
        return None
    vertigo = {"term": rng.choice(("vertigo", "room spinning")), "onset": day.ago(70), "note": "Comes back every week."}
    say(ear, vertigo, instead=("vertigo",))
    return visit


@kind("flag.RF11", "signs of a necrotising infection of the outer ear", f"RF11; {EXTERNA}; {CRITERIA}")
def rf11(rng: random.Random, visit: Visit) -> Visit | None:
    ear, day = healthy_ear(rng, visit), of_visit(visit)
    if not ear:
        return None
    say(ear, {"term": "night pain", "onset": day.ago(20), "severity": "severe", "score": 9},
        {"term": "purulent discharge", "onset": day.ago(15)}, instead=("pain", "discharge"))  # fmt: skip
    found(ear["before"], "canal", rng.choice(("granulation", "exposed bone")), "swollen")
    if rng.random() < 0.5:
        caution(visit, "diabetes")
    if rng.random() < 0.4:
        ear["impressions"] = ["?necrotising otitis externa"]
    return visit


@kind("flag.RF12", "mastoiditis, infection of the cartilage or of the skin of the face", f"RF12; {EXTERNA}")
def rf12(rng: random.Random, visit: Visit) -> Visit | None:
    ear, day = healthy_ear(rng, visit), of_visit(visit)
    if not ear:
        return None
    what = rng.choice(("mastoid swelling", "perichondritis", "?mastoiditis"))
    say(ear, {"term": "pain", "onset": day.ago(3), "severity": "moderate"}, instead=("pain",))
    if what == "?mastoiditis":
        ear["impressions"] = [what]
        say(ear, {"term": "swelling behind ear", "onset": day.ago(2)})
    else:
        found(ear["before"], "outer_ear", what, "red")
    return visit


@kind("flag.RF13", "palsy of one side of the face", "RF13; NSW Health ENT emergencies")
def rf13(rng: random.Random, visit: Visit) -> Visit | None:
    ear, day = healthy_ear(rng, visit), of_visit(visit)
    if not ear:
        return None
    without_hearing(ear)
    say(ear, {"term": "facial weakness", "onset": day.ago(2)}, instead=("facial weakness",))
    ear["impressions"] = ["facial palsy"]
    return visit


@kind("flag.RF14", "a battery in the ear", f"RF14; {SEL}")
def rf14(rng: random.Random, visit: Visit) -> Visit | None:
    ear = healthy_ear(rng, visit)
    if not ear:
        return None
    found(ear["before"], "contents", rng.choice(("battery", "button battery")))
    return visit


@kind("flag.RF15", "a foreign body in the ear", f"RF15; {SEL}")
def rf15(rng: random.Random, visit: Visit) -> Visit | None:
    ear = healthy_ear(rng, visit)
    if not ear:
        return None
    found(ear["before"], "contents", rng.choice(("bead", "foreign body", "cotton wool", "insect")))
    return visit


@kind("flag.RF16", "pain of one ear for weeks with nothing in the ear, at 40 or more", f"RF16; {SEL}")
def rf16(rng: random.Random, visit: Visit) -> Visit | None:
    ear, day = healthy_ear(rng, visit), of_visit(visit)
    if not ear or int(visit["client"]["birth_date"][:4]) > day.start.year - 42:
        return None
    say(ear, {"term": "earache", "onset": day.ago(rng.randint(24, 70)), "severity": "moderate"}, instead=("pain",))
    return visit


@kind("flag.RF17", "signs of a cholesteatoma", f"RF17; {EXTERNA}; Suffolk ENT guidance")
def rf17(rng: random.Random, visit: Visit) -> Visit | None:
    ear, day = healthy_ear(rng, visit), of_visit(visit)
    if not ear:
        return None
    found(ear["before"], "drum", rng.choice(("attic crust", "attic keratin", "attic retraction pocket")))
    say(ear, {"term": "foul discharge", "onset": day.ago(70)}, instead=("discharge",))
    if rng.random() < 0.5:
        ear["impressions"] = ["?cholesteatoma"]
    return visit


@kind("flag.RF18", "a sore or growth that may be cancer", "RF18; from memory")
def rf18(rng: random.Random, visit: Visit) -> Visit | None:
    ear, day = healthy_ear(rng, visit), of_visit(visit)
    if not ear:
        return None
    found(ear["before"], *rng.choice((("canal", "ulcer"), ("canal", "lesion"), ("outer_ear", "lesion"))))
    say(ear, {"term": "bleeding", "onset": day.ago(60), "severity": "mild"}, instead=("bleeding",))
    if rng.random() < 0.5:
        ear["impressions"] = ["suspicious lesion"]
    return visit


@kind("flag.RF19", "head injury with blood, clear fluid or a bruise behind the ear", "RF19; from memory")
def rf19(rng: random.Random, visit: Visit) -> Visit | None:
    ear, day = healthy_ear(rng, visit), of_visit(visit)
    if not ear:
        return None
    say(ear, {"term": "head injury", "onset": day.ago(rng.randint(0, 2))}, instead=("bleeding", "discharge"))
    sign = rng.choice((("contents", "blood"), ("contents", "clear fluid"), ("outer_ear", "bruising behind ear")))
    found(ear["before"], *sign)
    return visit


@kind("flag.RF20", "severe pain that stays after removal was tried", "RF20; Primary Care Notebook, syringing")
def rf20(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit)
    if not done:
        return None
    _, work = done
    work |= {"pain_peak": 9, "pain_after": rng.choice((8, 9)), "tolerance": "poorly tolerated"}
    work["events"] = [{"term": "pain", "severity": "severe", "done": "Stopped; still there when the client left."}]
    return visit


@kind("flag.RF21", "vertigo from water at body heat", "RF21; Primary Care Notebook, syringing")
def rf21(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit, "water")
    if not done:
        return None
    done[1]["irrigation"]["temperature"] = measure(37, "Cel")
    done[1]["events"] = [{"term": "vertigo", "severity": "moderate", "done": "Stopped, lay down."}]
    return visit


@kind(
    "flag.RF22",
    "infection of the outer ear no better after 14 days of drops, or a canal that is shut",
    f"RF22; {CRITERIA}",
)
def rf22(rng: random.Random, visit: Visit) -> Visit | None:
    ear, day = healthy_ear(rng, visit), of_visit(visit)
    if not ear:
        return None
    say(ear, {"term": "discharge", "onset": day.ago(30)}, instead=("discharge", "pain"))
    ear["impressions"] = ["otitis externa"]
    found(ear["before"], "canal", "red", "swollen")
    visit["medicines"] = [{"name": "antibiotic drops", "start": day.ago(rng.randint(15, 25)), "note": "No better."}]
    return visit


@kind("flag.RF23", "irrigation failed twice", "RF23; Primary Care Notebook, syringing")
def rf23(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit, "water", outcome=("none removed", "no wax removed"))
    if not done:
        return None
    done[1]["attempts"] = rng.choice((2, 3))
    return visit


@kind("flag.RF24", "a large perforation, or outer ear infections again and again", f"RF24; {EXTERNA}")
def rf24(rng: random.Random, visit: Visit) -> Visit | None:
    ear, day = healthy_ear(rng, visit), of_visit(visit)
    if not ear:
        return None
    if rng.random() < 0.5:
        hole: dict[str, Any] = {"term": "perforation", "percent": rng.choice((60, 70, 80))}
        found(ear["before"], "drum", hole if rng.random() < 0.6 else "subtotal perforation")
        return visit
    again = [{"term": "otitis externa", "date": day.ago(days)} for days in (40, 90, 140, 200, 280)]
    had(ear, *again, instead=("ear infection",))
    return visit


@kind("flag.not-by-wax", "symptom there as before although the ear is clear, and nobody looks further",
      "AAO-HNS earwax 2017, key action statement 9")  # fmt: skip
def not_by_wax(rng: random.Random, visit: Visit) -> Visit | None:
    done, day = worked_on(rng, visit), of_visit(visit)
    if not done:
        return None
    ear, work = done
    without_hearing(ear)
    no_reason(work)
    see_in_full(ear["after"], "none")
    say(ear, {"term": "gradual hearing loss", "onset": day.year(1200), "developed_over": measure(3, "a")})
    ear["hearing_change"] = "same"
    visit.pop("weber", None)
    visit.pop("follow_up")
    return visit
