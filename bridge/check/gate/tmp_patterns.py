D = r"[0-9]{4}(?:-(?:0[1-9]|1[0-2])(?:-(?:0[1-9]|1[0-9]|2[0-8]))?)?"
T = r"[0-9]{4}-(?:0[1-9]|1[0-2])-(?:0[1-9]|1[0-9]|2[0-8])T(?:[01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9](?:\.[0-9]+)?(?:Z|[+-](?:0[0-9]|1[0-3]):[0-5][0-9])"
S = r"[^\x00-\x08\x0b\x0c\x0e-\x1f\s][^\x00-\x08\x0b\x0c\x0e-\x1f]*"
U = r"(?:https?|mailto):[!-~]+|urn:uuid:[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}|urn:oid:[0-2](?:\.(?:0|[1-9][0-9]*))+|urn:ietf:[!-~]+"


def patterns():
    return {
        "date": D,
        "dateTime": f"{D}|{T}",
        "instant": T,
        "time": r"(?:[01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9]",
        "string": S,
        "markdown": S,
        "uri": U,
        "url": U,
        "canonical": U,
        "oid": r"urn:oid:[0-2](?:\.(?:0|[1-9][0-9]*))+",
        "uuid": "urn:uuid:[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}",
        "code": r"[!-~]+(?: [!-~]+)*",
        "id": r"[A-Za-z0-9\-.]{1,64}",
        "base64Binary": r"(?:[A-Za-z0-9+/]{4})*(?:[A-Za-z0-9+/]{2}==|[A-Za-z0-9+/]{3}=)?",
    }


from bridge.check.xhtml import narrative_problem


def plain_narratives(texts):
    return all(narrative_problem(t) is None for t in texts)
