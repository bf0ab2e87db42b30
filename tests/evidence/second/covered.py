"""Which laws, courses and stores of the exported network's schema do these networks leave out? None may be.

    covered.py network.schema.json NETWORK.json...
"""

import json
import sys


def kinds(value):
    """The words by which an object says what it is, wherever they stand."""
    if isinstance(value, dict):
        for key in ("law", "kind"):
            if isinstance(value.get(key), str):
                yield value[key] if key == "law" else ("kind", *sorted(value))
        for inner in value.values():
            yield from kinds(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from kinds(inner)


def main():
    schema, *networks = sys.argv[1:]
    with open(schema, encoding="utf-8") as file:
        definitions = json.load(file)["$defs"]
    wanted = {}
    for name, each in definitions.items():
        properties = each.get("properties", {})
        if "law" in properties:
            wanted[properties["law"]["const"]] = name
        elif "kind" in properties:
            wanted[("kind", *sorted(properties))] = name
    assert len(wanted) >= 20, "the schema is read wrongly"
    found = set()
    for path in networks:
        with open(path, encoding="utf-8") as file:
            found.update(kinds(json.load(file)))
    missing = sorted(name for key, name in wanted.items() if key not in found)
    unknown = [key for key in found if key not in wanted]
    if missing or unknown:
        sys.exit(f"not covered: {missing}; not in the schema: {unknown}")
    print(f"all {len(wanted)} laws, courses and stores of the schema are covered")


if __name__ == "__main__":
    main()
