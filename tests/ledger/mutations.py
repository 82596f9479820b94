"""Bytes changed at random: cut out, put in, turned, ended early."""

from hypothesis import strategies as st


def mutated(content: bytes, data) -> bytes:
    changed = bytearray(content)
    for _ in range(data.draw(st.integers(0, 4))):
        place = data.draw(st.integers(0, len(changed)))
        what = data.draw(st.sampled_from(["cut", "put", "turn", "end"]))
        if what == "put":
            changed[place:place] = data.draw(st.binary(min_size=1, max_size=4))
        elif what == "cut":
            del changed[place : place + data.draw(st.integers(1, 9))]
        elif what == "end":
            del changed[place:]
        elif place < len(changed):
            changed[place] = data.draw(st.integers(0, 255))
    return bytes(changed)
