"""The values of a YAML file, each with the path of its field, as text: what an edit has changed."""
import yaml


def leaves(tree, path=""):
    if isinstance(tree, dict):
        for key, value in tree.items():
            yield from leaves(value, f"{path}.{key}" if path else key)
    elif isinstance(tree, list) and any(isinstance(item, dict) for item in tree):
        for i, item in enumerate(tree):
            yield from leaves(item, f"{path}[{i}]")
    else:
        yield path, tree


def changed(before, after):
    old, new = (dict(leaves(yaml.load(text, yaml.BaseLoader))) for text in (before, after))
    return [path for path in old.keys() | new.keys() if old.get(path) != new.get(path)]
