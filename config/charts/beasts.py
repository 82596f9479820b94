"""The ruled drawings that stand where no photograph may be shown, one for each kind of animal."""

from dataclasses import dataclass

SIZES = {
    "dog": (96, 100),
    "cat": (84, 100),
    "rabbit": (118, 78),
    "bird": (112, 76),
    "hedgehog": (108, 64),
    "small": (108, 60),
    "other": (100, 86),
}
# What people write for a species, by the drawing that fits it.
KINDS = {
    "dog": "dog puppy",
    "cat": "cat kitten",
    "rabbit": "rabbit hare",
    "bird": "bird hen duck goose pigeon chicken rooster swan parrot owl",
    "hedgehog": "hedgehog",
    "small": "guinea hamster rat mouse gerbil chinchilla ferret",
}


@dataclass(frozen=True)
class Box:
    name: str
    title: str
    width: int
    height: int

    @property
    def template(self) -> str:
        return f"components/beasts/{self.name}.html"


@dataclass(frozen=True)
class Beast:
    """A drawing placed inside a chart."""

    x: str
    y: str
    scale: str
    template: str
    is_beast: bool = True


def beast_of(species: str) -> Box:
    """Find the drawing for a species as people write it.

    >>> beast_of("Guinea pig").name, beast_of("hen").name, beast_of("tortoise").name
    ('small', 'bird', 'other')
    """
    words = species.lower().split()
    name = next((kind for kind, known in KINDS.items() if set(words) & set(known.split())), "other")
    title = f"Drawing of a {species.lower()}" if name != "other" else "Drawing of a paw"
    return Box(name, f"{title}, in place of a photograph", *SIZES[name])
