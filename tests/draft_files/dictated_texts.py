"""The dictations of one practitioner, as a typing service gave them back."""

from datetime import date

from tests.draft_files.workbook import Cell, Page

ROWS: list[list[Cell]] = [
    ["Date", "Name", "Born", "Dictation"],
    [date(2026, 2, 2), "Agnes Thornbury-Hale", date(1938, 4, 11),
     "This lady attended with a two week history of a blocked right ear. She has used olive oil for five days. She "
     "agreed to the examination and to microsuction and is happy for me to write to her doctor. On the right the canal "
     "was completely occluded by hard dark wax. On the left there was a little soft wax and the drum looked normal. I "
     "cleared the right ear by microsuction using a fine end. The right drum was then seen in full and was normal. She "
     "tolerated it well. The left ear was not treated. Back in six months."],
    [date(2026, 2, 2), "Bertram Oakes", date(1951, 9, 30),
     "Mr Oakes came for a routine check. He wears hearing aids in both ears. Both canals held moderate soft brown wax, "
     "about half occluded on each side. Both cleared with microsuction. Both drums intact, the left with an old patch "
     "of tympanosclerosis. No complications. He does not want anything sent to his doctor. Verbal consent for the "
     "procedure. See again in four months."],
    [date(2026, 2, 3), "Cordelia Finch-Amory", date(1979, 12, 1),
     "Complains of itching in the left ear for a month, no pain, no discharge, no dizziness. Right ear clear, drum "
     "normal. Left canal red and flaky with moist debris, I suspect otitis externa. I did not clean it because it was "
     "too tender. Left drum not seen because of the swelling. Please see her this week for treatment. She agreed to "
     "the letter. She is allergic to neomycin, which gave a rash."],
    [date(2026, 2, 3), "Desmond Prewitt", "1 Feb 1950",
     "Past history of a perforation on the left, closed by surgery in 1994. Today right ear forty per cent wax, "
     "crumbly, left ear clear of wax. Left drum, graft looks sound. Right cleared with the ring probe only. Right drum "
     "normal after. He takes warfarin, last reading two point six. Consent given for treatment. I did not ask "
     "about a letter."],
    [date(2026, 2, 4), "Elspeth Carrow", date(1944, 7, 22),
     "Right ear - sorry, left ear - blocked since Christmas. The right is her only hearing ear so I left it alone, I "
     "looked and it is clear with a normal drum. Left canal full of keratin and wax, mastoid cavity, open, from an "
     "operation in the seventies. Cleared with suction, took twenty minutes, she felt dizzy for about a minute and it "
     "settled. Cavity now dry and clean. Consented, and letter to the surgery agreed. Three months."],
    [date(2026, 2, 4), "Fergus Ballantine", date(2017, 3, 14),
     "Boy of eight brought by his father, who gave consent for treatment. Hearing poor at school. Right wax hard and "
     "occluding, left wax hard and occluding. Attempted the right with a curette but he would not keep still, so "
     "stopped, some wax removed and most of it remains. Left not attempted. Neither drum could be seen. Drops for two "
     "weeks and return. Father agreed to a letter."],
    [date(2026, 2, 5), "Gwendolyn Astbury", date(1960, 10, 9),
     "Both ears feel full after a cold. No wax in either ear. Right drum dull and retracted with perhaps some fluid "
     "behind. Left drum normal. Nothing to remove so no procedure. Weber goes to the right. I have advised her to wait "
     "four weeks and to see the doctor if it persists. Happy for letter."],
    [date(2026, 2, 9), "Hector Ludlow-Price", date(1933, 1, 5),
     "Seen at the care home with the nurse present. He lacks capacity and the decision to treat was made in his best "
     "interests with his daughter on the telephone. Both ears ninety per cent hard wax. Irrigated the right with water "
     "at thirty seven degrees, came out in one piece, right drum seen, intact. He became distressed and so the left "
     "was not done. Daughter to ring about next visit. Send a copy to the doctor, the daughter agrees."],
    [date(2026, 2, 9), "Imogen Verity", date(1988, 6, 18),
     "Cotton wool stuck in the right ear since yesterday. Removed with crocodile forceps in one piece. Small graze on "
     "the floor of the right canal, spot of blood, stopped by itself. Right drum intact. Left ear not examined today. "
     "Consent yes. Letter no, she said there was no need."],
    [date(2026, 2, 10), "Jasper Whitcombe", date(1971, 11, 27),
     "Surfer with known exostoses on both sides, no change. Right canal narrowed by about seventy per cent, left by "
     "about half. Wax trapped behind on the right, soft, twenty per cent. Suction with a fine tube, right cleared. "
     "Only the back half of the right drum could be seen and that was normal. Left drum normal, no wax on the left. "
     "He consents to treatment and to the letter."],
    [date(2026, 2, 10), "Kezia Maddern", date(1947, 8, 3),
     "Woke on Sunday with sudden loss of hearing in the left ear and buzzing. Canals both clear. Both drums normal. "
     "Whispered voice not heard on the left, heard on the right. No wax was removed. I have rung the surgery and "
     "asked for her to be seen by ENT today. She agreed to that and to this letter."],
    [date(2026, 2, 11), "Lionel Strand", date(1955, 5, 15),
     "Wax in the left ear, seventy five per cent, sticky. Right ear ten per cent, left alone. Left suction, partly "
     "cleared, a hard piece remains against the drum as it was painful, six out of ten. Drum seen only in the upper "
     "half, looks normal there. Oil for a week and try again. Usual consent."],
    [date(2026, 2, 11), "Muriel Hendry", date(1936, 12, 24),
     "Did not attend. I telephoned and she had forgotten. New appointment next week."],
    [date(2026, 2, 16), "Nathaniel Boscombe", date(1962, 2, 8),
     "Right ear query cholesteatoma, there is a crust in the attic that I did not touch. No perforation that I can "
     "see. Left ear normal. No wax. Please refer him to ENT. He agreed to examination and to you being told, but does "
     "not wish his hepatitis to be mentioned anywhere."],
    [date(2026, 2, 16), "Muriel Hendry", date(1936, 12, 24),
     "Came today. The left was impacted with soft wax after her drops and the right was clear. Left irrigated, two "
     "goes, all out. Found a small dry perforation in the lower front part of the left drum after the wax came away, "
     "not caused by the irrigation in my view as there was no pain or bleeding. She agreed to everything."],
    [date(2026, 2, 17), "Ottoline Freemantle", date(1990, 3, 19),
     "No change since last time. Same treatment. All fine. Letter as before."],
    [date(2026, 2, 17), "Peregrine Shaw", date(1949, 9, 2),
     "He has had discharge from the right ear on and off for a year but none today. Right canal wet, drum perforated "
     "in the centre, about a quarter of it gone. Left drum scarred, intact. Dry mopped the right. He is not to have "
     "irrigation ever. He signed the form for treatment and ticked yes for sharing with his doctor."],
]  # fmt: skip

PAGES = [Page("Dictation", ROWS)]
