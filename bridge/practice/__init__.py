"""What a practice says of itself once: its settings, its people, its address book of doctors' practices."""

from bridge.practice.complete import complete
from bridge.practice.doctors import AddressBook, DoctorsPractice
from bridge.practice.folder import load_practice
from bridge.practice.registers import Register, load_registers
from bridge.practice.settings import Practice, Staff
from bridge.practice_place import find_practice

__all__ = [
    "AddressBook", "DoctorsPractice", "Practice", "Register", "Staff", "complete", "find_practice", "load_practice",
    "load_registers",
]  # fmt: skip
