"""The words of headings and outcomes that labs use, against what they mean here. Common usage, no source."""

from __future__ import annotations

import re
from collections.abc import Mapping

from stirfall.bench.factors import Role
from stirfall.storage.import_plan import Meaning, Result

_SPACES = re.compile(r"[\s_.:#*]+")
_POINT_ZERO = re.compile(r"^(\d+)\.0+$")


def plain(heading: str) -> str:
    """Return a heading without letter case, punctuation and doubled blanks."""
    return _SPACES.sub(" ", heading.casefold()).strip(" ?()[]-")


def is_note(heading: str) -> bool:
    """Whether a heading says no more than that the column holds notes."""
    return HEADINGS.get(plain(heading)) is Meaning.NOTE


def _by_word(groups: Mapping[Meaning, str]) -> Mapping[str, Meaning]:
    return {word.strip(): meaning for meaning, words in groups.items() for word in words.split(",")}


HEADINGS: Mapping[str, Meaning] = _by_word(
    {
        Meaning.NUMBER: "attempt,attempt number,attempt no,no,nr,number,run,run no,run number,trial no,"
        "trial number,"
        "experiment,exp,exp no,expt,id,n°,№",
        Meaning.DATE: "date,day,datum,on",
        Meaning.TIME: "time,time of day,clock,start time,started,hour,at",
        Meaning.MOMENT: "date and time,date time,datetime,timestamp,when,started at,start,moment",
        Meaning.LOT: "lot,lot no,lot number,batch,batch no,batch number,crude lot,crude batch,group,charge no",
        Meaning.JAR: "jar,jar no,jar number,vial,bottle,flask,container,sample,sample no",
        Meaning.OPERATOR: "operator,by,who,person,name,initials,worker,chemist,done by,stirred by",
        Meaning.TOOL: "tool,stirrer,rod,paddle,spatula,stirring tool,instrument",
        Meaning.NOTE: "note,notes,comment,comments,remark,remarks,observation,observations,memo",
        Meaning.OUTCOME: "outcome,result,results,separation,separated,clean separation,clean,worked,success,"
        "successful,verdict,grade,ok,how it went",
        Meaning.PARTED: "gate 1,gate1,g1,parted,solids parted,solids left,solids out,parting",
        Meaning.POOLED: "gate 2,gate2,g2,pooled,pool,one pool,metal pooled,merged,coalesced",
        Meaning.CLEAN: "clean ones,successes,n clean,clean count,clean of,number clean,hits",
        Meaning.TRIALS: "trials,tries,n trials,number of trials,of,n,repeats,replicates",
        Meaning.CHARGE: "charge,charge mass,crude,crude mass,mass in,input,input mass,m in,m charge,feed,"
        "mass of crude",
        Meaning.PRODUCT: "product,product mass,metal,metal mass,metal out,mass out,m out,m product,output,yield",
        Meaning.BEADS: "beads,bead mass,beads mass,m beads,mass of beads",
        Meaning.RESIDUE: "residue,residue mass,solids,solids mass,m residue,sludge,dross",
        Meaning.ADDITIVE: "additive mass,mass of additive,m additive,additive added",
        Meaning.RECOVERY: "recovery,recovered,metal recovery,yield %,recovery yield",
        Meaning.HUMIDITY: "humidity,room humidity,rh,rel humidity,relative humidity,r h",
        Meaning.PEAK: "peak,peak temperature,highest temperature,max temperature,t max,tmax,max t,peak t",
    }
)
"""What headings mean, without their units."""

MASS_UNITS = frozenset({"g", "mg", "kg", "oz"})


class Concept:
    """A condition that labs keep under many names: the standard factor, its role, its unit's kind and the names."""

    def __init__(self, factor: str, role: Role, units: str, names: str, *, is_choice: bool = False) -> None:
        self.factor, self.role, self.is_choice = factor, role, is_choice
        self.units = frozenset(units.split())
        self.names = frozenset(name.strip() for name in names.split(","))


_TIMES = "s min h d week"
CONCEPTS = (
    Concept(
        "temperature",
        Role.TEMPERATURE,
        "C F K",
        "temperature,temp,t,bath,bath temperature,bath temp,melt temperature,melt temp,oil temperature,oil temp,"
        "t bath,t melt,t oil,set point,setpoint,hot plate,plate temperature",
    ),
    Concept(
        "sample age",
        Role.SAMPLE_AGE,
        _TIMES,
        "sample age,age,age of sample,ageing,aging,ageing time,aging time,crude age,days old,hours "
        "old,aged,lot age",
    ),
    Concept(
        "oil exposure time",
        Role.OIL_EXPOSURE,
        _TIMES,
        "oil exposure time,oil exposure,exposure,exposure time,time under oil,under oil,in oil,time in "
        "oil,oil time,"
        "days in oil,hours in oil,days under oil,hours under oil,oil age,time in jar,days in jar,jar age",
    ),
    Concept(
        "hot time before stirring",
        Role.HOT_TIME,
        _TIMES,
        "hot time before stirring,hot time,hold,hold time,holding time,hot hold,soak,soak "
        "time,preheat,preheat time,"
        "time hot,wait hot,t hot,t hold,time molten",
    ),
    Concept(
        "stirring speed",
        Role.GENERAL,
        "1/min 1/s",
        "stirring speed,stir speed,speed,rpm,stirring rate,stir rate,rate,stir,stirring,turns,strokes,turns "
        "per minute",
    ),
    Concept(
        "stirring time",
        Role.GENERAL,
        "s min h",
        "stirring time,stir time,stirring,stir,stir duration,stirring duration,t stir,mixing time,mix "
        "time,time stirred",
    ),
    Concept(
        "stirring action",
        Role.GENERAL,
        "",
        "stirring action,action,stir action,stirring type,stir type,motion,technique,stroke,stirring,stir,how"
        " stirred",
        is_choice=True,
    ),
    Concept("additive", Role.GENERAL, "", "additive,add,flux,agent,additive used,wetting agent", is_choice=True),
    Concept(
        "additive dose",
        Role.DOSE,
        "mg/g g/g g/kg %",
        "additive dose,dose,dosage,add dose,additive amount,additive,loading,additive loading,dose of additive",
    ),
)

_RESULTS: Mapping[Result, str] = {
    Result.CLEAN: "clean|clean separation|clean sep|full|fully|full separation|complete|completely|one pool|pool|"
    "pooled|single pool",
    Result.BEADS: "beads|bead|beaded|beady|parted but beads|parted beads|balls|droplets|drops|shot",
    Result.PIECES: "few pieces|pieces|parted few pieces|several pieces|chunks|lumps",
    Result.PARTED: "parted|parted only",
    Result.PARTLY: "partly|partly parted|partial|partially|part|prt|part sep|partial separation|some|half|±|+/-|"
    "incomplete|somewhat",
    Result.NOTHING: "nothing|nothing parted|none|no separation|no sep|not parted|unparted|nil|zero",
    Result.ABORTED: "aborted|abort|stopped|broken off|abandoned|cancelled|canceled|gave up",
    Result.NONE: "not graded|ungraded|not noted|not observed|not seen|unknown|pending|tbd|n/o|no result|lost",
}
_YES = frozenset(
    [
        "yes",
        "y",
        "ja",
        "oui",
        "1",
        "true",
        "t",
        "+",
        "++",
        "+++",
        "ok",
        "okay",
        "good",
        "pass",
        "passed",
        "success",
        "successful",
        "worked",
        "works",
        "x",
        "✓",
        "✔",
        "done",
    ]
)
_NO = frozenset(
    [
        "no",
        "n",
        "nein",
        "non",
        "0",
        "false",
        "f",
        "-",
        "−",
        "–",
        "--",
        "bad",
        "fail",
        "failed",
        "failure",
        "unsuccessful",
        "✗",
        "✘",
    ]
) | {
    "not clean",
    "no good",
    "did not work",
}
_BY_WORD = {word: result for result, words in _RESULTS.items() for word in words.split("|")}
FAILURES = frozenset({Result.BEADS, Result.PIECES, Result.PARTLY, Result.NOTHING, Result.PARTED})


def plain_word(cell: str) -> str:
    """Return the word of an outcome without letter case, a full stop and doubled blanks; 1.0 is 1."""
    word = " ".join(cell.casefold().split()).strip(" .,;:?!\"'()")
    word = word or cell.strip().casefold()
    number = _POINT_ZERO.match(word)
    return number[1] if number else word


def result_of_word(word: str, meaning: Meaning, *, is_graded: bool) -> Result | None:
    """Return what a plain word of an outcome column means, None where it is not known.

    ``is_graded`` says that the column tells failures apart: yes is then a clean separation, no is nothing parted;
    otherwise the words count clean or not clean and grade no gate.
    """
    if meaning is Meaning.PARTED:
        return _parted_word(word)
    if meaning is Meaning.POOLED:
        return _pooled_word(word)
    if word in _YES:
        return Result.CLEAN if is_graded else Result.COUNTS_CLEAN
    if word in _NO:
        return Result.NOTHING if is_graded else Result.COUNTS_NOT
    found = _BY_WORD.get(word)
    return Result.COUNTS_CLEAN if found is Result.CLEAN and not is_graded else found


def _parted_word(word: str) -> Result | None:
    if word in _YES or word in ("parted", "full", "fully", "clean", "complete"):
        return Result.PARTED
    if word in _NO:
        return Result.NOTHING
    found = _BY_WORD.get(word)
    return found if found in (Result.PARTLY, Result.NOTHING, Result.ABORTED, Result.NONE) else None


def _pooled_word(word: str) -> Result | None:
    if word in _YES:
        return Result.CLEAN
    if word in _NO:
        return Result.BEADS
    found = _BY_WORD.get(word)
    if found is Result.NOTHING:
        return Result.NONE
    return found if found in (Result.CLEAN, Result.BEADS, Result.PIECES, Result.NONE) else None


def is_graded_word(word: str) -> bool:
    """Whether a plain word tells one failure from another."""
    return _BY_WORD.get(word) in FAILURES


def is_outcome_word(word: str) -> bool:
    """Whether a plain word is known as an outcome."""
    return word in _YES or word in _NO or word in _BY_WORD
