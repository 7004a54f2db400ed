"""Sentences for the codes of the film index."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "film.table_unreadable": (
        "The table of constants for the film index, {path}, cannot be read. Install the program again."
    ),
    "film.ranking_aid": (
        "The film index estimates how much oxygen and water reached each area of metal. It holds within a factor "
        "of three either way at best: use it to rank jars. It is no thickness of a film."
    ),
    "film.hazard_only": (
        "For this metal the film index is a measure of hazard only: a larger one means more crust that can "
        "explode. It is no aim, and no reason to let a jar stand."
    ),
    "film.plastic_jar": (
        "Jar {jar} is of plastic, which lets air and water through: more reached the metal than the index says."
    ),
    "film.residue": "Jar {jar} holds residue that waits for disposal; it has no film index.",
    "film.needs_depth": "Enter how deep the oil stands over the metal in jar {jar}.",
    "film.uncovered": "The oil depth of jar {jar} is zero: the metal lies bare. Correct it, or cover the metal.",
    "film.needs_diameter": "Enter the inner diameter of jar {jar}.",
    "film.needs_area": (
        "Enter the area of the metal in jar {jar}, or the number of its pieces with their size, or with charge and "
        "density of the metal."
    ),
    "film.not_yet": "Jar {jar} was not started by that time, so it has no film index.",
    "film.compare_unknown": "Nothing can be compared before jar {jar} says enough.",
    "film.compare_unknown_both": "Nothing can be compared before jars {first} and {second} say enough.",
    "film.compare_itself": "Choose two different jars to compare them.",
    "film.compare_alike": (
        "Jars {more} and {less} have received about the same; {times} times is far below what can be told apart."
    ),
    "film.compare_clear": (
        "Jar {more} has received about {times} times as much for its area of metal as jar {less}. The order is "
        "likely right: most of the factor of {band} that each index may be off by is common to both jars, and what "
        "they do not share is taken as a factor of about {own}."
    ),
    "film.compare_doubtful": (
        "Jar {more} seems to have received about {times} times as much for its area of metal as jar {less}, but "
        "the order is not sure: most of the factor of {band} that each index may be off by is common to both jars, "
        "yet what they do not share is taken as a factor of about {own}."
    ),
}
