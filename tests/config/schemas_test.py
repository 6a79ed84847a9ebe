"""The schemas against a validator from outside (python3-jsonschema, Draft 2020-12), with a YAML reader from
outside: they are schemas, they take every file of the corpus that the parser takes, and they refuse the files
listed here, each wrong in a way that a schema can tell."""
import pathlib
import sys

import jsonschema
import yaml

ROOT = pathlib.Path(sys.argv[1])
CORPUS = ROOT / "tests/corpus/config"
REFUSED = {  # texts with one thing wrong each
    "config": ["site: a\n", "site: a\nledger: {}\n", "site: a\nledger: {path: l}\nsitte: b\n",
               "site: a b\nledger: {path: l}\n",
               "site: a\nledger: {path: l}\nlog: {level: loud}\n",
               "site: a\nledger: {path: l}\nlanguage: de_AT\n",
               "site: a\nledger: {path: l}\nmarket: eu\n",
               "site: a\nledger: {path: l}\nnext_policy: [n.yaml]\n",
               "site: a\nledger: {path: l}\ninstruments: [{serial: A, known_stones: {source: s}}]\n",
               "site: a\nledger: {path: l}\ninstruments: [{serial: A, known_stones: {natural: {natural: 1}}}]\n",
               "site: a\nledger: {path: l}\ninstruments: [{serial: A, known_stones: {source: s, natural: {}}}]\n",
               "site: a\nledger: {path: l}\ninstruments: [{serial: A, known_stones: {source: s, natural: {natural: -1}}}]\n",
               "site: a\nledger: {path: l}\ninstruments: [{serial: A, known_stones: {source: s, natural: {void: 1}}}]\n",
               "site: a\nledger: {path: l}\ninstruments: [{serial: A, cycle: soon}]\n",
               "site: a\nledger: {path: l}\nintakes: [{name: a, reader: r, mapping: m}]\n",
               "site: a\nledger: {path: l}\nintakes: [{name: a, reader: r, mapping: m, tcp: {connect: 'h:1'}, folder: {path: p}}]\n",
               *(f"site: a\nledger: {{path: l}}\noutlets: [{{name: a, {outlet}}}]\n" for outlet in (
                   "webhook: {url: u, secret_file: s}, in_flight: 65", "in_flight: 1", "webhook: {url: u}",
                   "webhook: {url: u, secret_file: s}, folder: {path: p}", "webhook: {url: u, secret_file: ''}",
                   "webhook: {url: u, secret_file: 'credential:'}", "webhook: {url: u, secret_file: 'credential:../a'}",
                   "webhook: {url: u, basic: {user: a}}", "webhook: {url: u, oauth: {token_url: u, client_id: a}}",
                   "webhook: {url: u, certificate: {key_file: k}}", "webhook: {url: u, anonymous: 1}",
                   "webhook: {url: u, anonymous: true, proxy: {url: u, user: a}}",
                   "webhook: {url: u, anonymous: true, addresses: [till.example]}",
                   "webhook: {url: u, anonymous: true, reference: id}", "webhook: {url: u, anonymous: true, method: GET}",
                   "webhook: {url: u, anonymous: true, path: /a}", "webhook: {url: u, anonymous: true, path: [[a]]}",
                   "webhook: {url: u, anonymous: true, query: {a: }}", "webhook: {url: u, anonymous: true, query: {'': a}}",
                   "webhook: {url: u, anonymous: true, headers: {a: {form: rfc3339}}}",
                   "folder: {path: p, method: PUT}", "folder: {name: a}", "folder: {path: p}, batch: {wait: 5min}",
                   "folder: {path: p}, batch: {count: 0}", "folder: {path: p}, outcomes: all",
                   "folder: {path: p}, per_minute: 0", "folder: {path: p}, body: csv",
                   *(f"folder: {{path: p}}, body: {body}" for body in (
                       "{}", "{csv: {a: b}, json: {a: b}}", "{csv: {}}", "{csv: [a]}", "{csv: {a: [b]}}", "{csv: {a: ~}}",
                       "{csv: {a: b}, delimiter: ':'}", "{json: {a: b}, header: true}", "{json: a}", "{json: }",
                       "{json: {a: {from: b}}}", "{json: {a: {from: /b~2}}}", "{json: {a: {from: []}}}",
                       "{json: {a: {from: /b, value: c}}}", "{json: {a: {from: /b, wrods: {}}}}",
                       "{json: {a: {value: c, join: d}}}", "{json: {a: {from: /b, zone: UTC}}}",
                       "{json: {a: {from: /b, words: {}}}}", "{json: {a: {from: /b, as: date}}}",
                       "{json: {a: {from: /b, default: ~}}}", "{json: {a: [[{value: ~}]]}}",
                       "{json: {a: {object: b}}}", "{json: {object: [a]}}",
                       "{xml: a}", "{xml: {}}", "{xml: {a: b, c: d}}", "{xml: {a: [b]}}", "{csv: {a: b}, list: c}",
                       "{epcis: {}}", "{epcis: {item: i, items: i}}", "{cloudevents: both}", "{webhook: }")),
               ))],
    "mapping": ["record: reading\n", "record: lab_report\nfields: {}\n",
                "record: scan\nfields: {bench: {value: a}, stock_number: {from: s}}\n",
                "record: declaration\nfields: {stock_number: {from: s, value: t}}\n",
                "record: declaration\nfields: {stock_number: {from: s}, identity: {from: i, words: {x: void}}}\n",
                "record: declaration\nfields: {stock_number: {from: s}, carat: {from: i, unit: kg}}\n",
                "record: declaration\nfields: {stock_number: {from: s, take: a}}\n",
                "record: declaration\nfields: {stock_number: {from: s, gs1: serial}}\n",
                "record: declaration\nfields: {stock_number: {from: s}, mount: {from: m, default: ring}}\n",
                "records: []\n", "records: [{ignore: all}]\n",
                "records: [{when: {}, record: declaration, fields: {stock_number: {from: s}}}]\n"],
    "policy": ["name: a\nversion: 1\nvalid_from: 2.11.2026\n", "name: a\nversion: 1\nvalid_from: '2026-11-02T09:00'\n",
               "name: a\nversion: 1\nparameters: {repeat_correlation: 1.1}\n",
               "name: a\nversion: 1\nparameters: {miss_limit: 0}\n", "name: a\nversion: 1\nparameters: {miss_limit: 0.5}\n",
               "name: a\nversion: 1\nparameters: {confidence: 0.49}\n", "name: a\nversion: 1\nparameters: {confidence: 1}\n",
               "name: a\nversion: 1\nparameters: {confidence: 95%}\n",
               "name: a\nversion: 1\npriors: [{channel: '', natural: 1}]\n", "name: a\nversion: 1\npriors: [{natural: 2}]\n",
               "name: a\nversion: 1\nreasons: {no: No}\n", "name: a\nversion: 1\nreasons: {de_AT: {no: Nein}}\n",
               "name: a\nversion: 1\nrequired: 3\n", "name: a\nversion: 1\nrouting: {}\n",
               "name: a\nversion: 1\nexamples: [{facts: {}, then: {reason: a}}]\n",
               "name: a\nversion: 1\nexamples: [{facts: {a: b}, then: {}}]\n",
               "name: a\nversion: 1\nexamples: [{facts: {a: b}, then: {disposition: sell}}]\n",
               "name: a\nversion: 1\nexamples: [{facts: {a: b}, then: {outlets: till}}]\n",
               "name: a\n", "name: a\nversion: 1\nparameters: {required: 0}\n",
               "name: a\nversion: 1\ntable: {inputs: [], outputs: [{}], rules: [{when: [a], then: [b]}]}\n"],
}


class Loader(yaml.SafeLoader):
    """Without dates: JSON has none, and an editor that checks by a schema takes them for texts."""


Loader.yaml_implicit_resolvers = {
    first: [(tag, pattern) for tag, pattern in rules if not tag.endswith(":timestamp")]
    for first, rules in yaml.SafeLoader.yaml_implicit_resolvers.items()}


def kind_of(name):
    if name == "girdled.yaml":
        return "config"
    if name.endswith("mapping.yaml"):
        return "mapping"
    return "policy" if name.endswith("policy.yaml") else None


def main():
    validators = {}
    for kind in REFUSED:
        with open(ROOT / "schemas" / f"{kind}.schema.json", encoding="utf-8") as file:
            schema = yaml.safe_load(file)
        jsonschema.Draft202012Validator.check_schema(schema)
        validators[kind] = jsonschema.Draft202012Validator(schema)
    wrong, taken = [], 0
    for path in sorted((CORPUS / "accept").rglob("*.yaml")):
        kind = kind_of(path.name)
        if kind is None:
            wrong.append(f"{path}: its name tells no kind of file")
            continue
        document = yaml.load(path.read_bytes(), Loader=Loader)
        wrong += [f"{path}: {e.json_path}: {e.message}" for e in validators[kind].iter_errors(document)]
        taken += 1
    for kind, texts in REFUSED.items():
        wrong += [f"{kind} took: {text}" for text in texts if validators[kind].is_valid(yaml.safe_load(text))]
    if taken < 8:
        wrong.append(f"only {taken} files of the corpus were looked at")
    print("\n".join(wrong) or f"{taken} files taken, {sum(map(len, REFUSED.values()))} refused")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
