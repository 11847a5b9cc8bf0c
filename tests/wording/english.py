"""English's part of the catalogue that stands in tables of its own: key and words, for other languages to translate."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.data import load_csv, load_yaml, table_path


def english_elsewhere() -> dict[str, str]:
    """Labels of codes of our own, what an urgency means, rules that referrals name, and red flags that letters tell."""
    return dict(_rows())


def _rows() -> Iterator[tuple[str, str]]:
    for row in load_csv(table_path("own-codes.csv")):
        yield f"code.{row['code']}", row["label"]
    for row in load_csv(table_path("observations.csv")):
        yield f"code.{row['kind']}", row["label"]
    for path in sorted(table_path("terms").glob("*.csv")):
        for row in load_csv(path):
            if row.get("concept"):
                yield f"code.{row['concept']}", row["label"]
    for row in load_csv(table_path("referral-urgency.csv")):
        if row["words"]:
            yield f"urgency.{row['urgency']}", row["words"]
    for row in load_csv(table_path("referral-rules.csv")):
        yield f"rule.{row['id']}", row["words"]
    yield from _flags()


def _flags() -> Iterator[tuple[str, str]]:
    """Red flags of clients to be seen at once; two keys, whole sentences, where the words name the ear."""
    for path in sorted(table_path("clinical", "rules").glob("*.yaml")):
        for rule in load_yaml(path)["rules"]:
            if not rule.get("flag") or rule.get("urgency") != "immediate":
                continue
            if "{ear}" not in rule["message"]:
                yield f"flag.{rule['code']}", rule["message"]
                continue
            for ear in ("right", "left"):
                yield f"flag.{rule['code']}.{ear}", rule["message"].format(ear=ear)
