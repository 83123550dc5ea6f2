"""Everything that can go wrong in a way the user can mend.

::

    SeamnoteError                 exit 1   (never raised itself: an unforeseen failure is a bug)
    ├── WrongUse                  exit 2   the command was called in a way that cannot work
    │   ├── UnknownJob
    │   │   └── AmbiguousJob
    │   ├── UnknownField
    │   ├── UnknownUnit
    │   ├── UnknownLanguage
    │   ├── UnknownCamera
    │   ├── UnknownSearch
    │   ├── UnknownRecipe
    │   ├── UnknownName
    │   │   └── UnknownCard
    │   ├── UnknownDevice
    │   ├── SessionOver
    │   └── BadValue
    ├── InputRefused              exit 3   a file or folder cannot be used as it is
    │   ├── FileMissing
    │   ├── FileEmpty
    │   ├── FileTooLarge
    │   ├── NotAudio
    │   ├── NoSpeech
    │   ├── SoundRefused
    │   ├── NotAPicture
    │   ├── PictureTooHard
    │   ├── NothingToProcess
    │   ├── BadJobCard
    │   ├── BadSettings
    │   ├── BadLimits
    │   ├── BadRecipe
    │   ├── RecipeChanged
    │   ├── CannotKeep
    │   ├── BadFirmFile
    │   ├── ChecksDamaged
    │   ├── BadGeometry
    │   ├── NothingCharted
    │   ├── BadCamera
    │   ├── CannotCalibrate
    │   ├── BadVocabulary
    │   ├── BadSynonyms
    │   ├── BadSearches
    │   ├── BadLogo
    │   ├── BadTemplate
    │   ├── BadWording
    │   ├── JobUnfinished
    │   ├── OriginalChanged
    │   ├── BadJobFolder
    │   │   └── JobTooNew
    │   ├── JobChanged
    │   ├── RecordChanged
    │   ├── BadCertificate
    │   ├── NotAReport
    │   ├── NotADrawing
    │   ├── CannotApprove
    │   ├── CannotRestore
    │   ├── CannotImport
    │   ├── BadPackage
    │   ├── JobsHere
    │   ├── AuthorityDamaged
    │   ├── DevicesDamaged
    │   ├── InviteRefused
    │   ├── TooManyDevices
    │   └── OriginalsElsewhere
    ├── PlaceUnusable             exit 3   a place to write or an engine is not usable
    │   ├── HomeUnusable
    │   ├── OutputUnwritable
    │   ├── RemovalIncomplete
    │   ├── OutputExists
    │   ├── EngineMissing
    │   ├── ModelDamaged
    │   ├── PageFailed
    │   ├── PassphraseMissing
    │   ├── PassphraseWrong
    │   ├── IdentityUnusable
    │   ├── IdentityUnfit
    │   ├── Busy
    │   ├── PortTaken
    │   ├── NoNetwork
    │   └── IndexDamaged
    └── VerificationFailed        exit 5   a signed report is not what was signed
        └── ArchiveDiffers

Each class states the problem and the remedy as templates over the data it carries, so that the
same error can be a line for a person, an object for a program, or a message in another language.
"Done, but something needs a person" (exit 4) is an outcome and not an error: see ``recorder.cli``.
"""

from __future__ import annotations

import string
from typing import ClassVar


class SeamnoteError(Exception):
    """Base of the tree. ``data`` holds the named values of the ``problem`` and ``remedy`` texts."""

    exit_code: ClassVar[int] = 1
    problem: ClassVar[str] = "something failed"
    remedy: ClassVar[str] = "please report this"

    def __init__(self, **data: object) -> None:
        missing = self.data_names() - data.keys()
        if missing:
            raise TypeError(f"{type(self).__name__} needs {', '.join(sorted(missing))}")
        super().__init__(data)
        self.data = data

    @classmethod
    def data_names(cls) -> set[str]:
        """Names of the values which the two texts of this class use."""
        parts = string.Formatter().parse(cls.problem + cls.remedy)
        return {name for _, name, _, _ in parts if name}

    def __str__(self) -> str:
        return f"{self.problem_text}; {self.remedy_text}"

    @property
    def problem_text(self) -> str:
        return _one_line(self.problem.format(**self.data))

    @property
    def remedy_text(self) -> str:
        return _one_line(self.remedy.format(**self.data))


def _one_line(text: str) -> str:
    """Whatever a file name or a foreign message holds."""
    return " ".join(text.split())


class WrongUse(SeamnoteError):
    exit_code = 2
    problem = "{detail}"
    remedy = "see 'seamnote {command} --help'"


class UnknownJob(WrongUse):
    problem = "no job answers to {wanted!r}"
    remedy = "list the jobs with 'seamnote search', or name one by its id or job number"


class AmbiguousJob(UnknownJob):
    problem = "{wanted!r} fits several jobs: {ids}"
    remedy = "name one of them by its id"


class UnknownField(WrongUse):
    problem = "there is no field {wanted!r}"
    remedy = "{near}"


class UnknownUnit(WrongUse):
    problem = "{wanted!r} is not a unit that {field} can have"
    remedy = "use one of {near}"


class UnknownLanguage(WrongUse):
    problem = "there are no words for the language {wanted!r}"
    remedy = "use one of {near}"


class UnknownCamera(WrongUse):
    problem = "no calibrated camera is called {wanted!r}"
    remedy = "{near}"


class UnknownSearch(WrongUse):
    problem = "no search is saved as {wanted!r}"
    remedy = "{near}"


class UnknownRecipe(WrongUse):
    problem = "there is no recipe {wanted!r}{near}"
    remedy = "see 'seamnote recipe list'"


class UnknownName(WrongUse):
    problem = "there is no {kind} {wanted!r}{near}"
    remedy = "see 'seamnote {command}'"


class UnknownCard(UnknownName):
    problem = "no job card {wanted!r} waits here; it may have been used already"
    remedy = "see 'seamnote prepare --waiting'"


class SessionOver(WrongUse):
    problem = "the session of job {job} is over"
    remedy = "look at the job among the past ones, or start a new one"


class UnknownDevice(WrongUse):
    problem = "no device {number} is paired"
    remedy = "see the list of paired devices with 'seamnote serve --devices'"


class BadValue(WrongUse):
    problem = "{value!r} cannot be {field}"
    remedy = "{hint}"


class InputRefused(SeamnoteError):
    exit_code = 3
    problem = "{path}: {detail}"
    remedy = "check the file"


class FileMissing(InputRefused):
    problem = "{path} does not exist"
    remedy = "check the name"


class FileEmpty(InputRefused):
    problem = "{path} is empty"
    remedy = "copy it again from the recorder or camera"


class FileTooLarge(InputRefused):
    problem = "{path} is too large ({size})"
    remedy = "the limit is {limit}; split or shrink it"


class NotAudio(InputRefused):
    problem = "{path} holds no sound that can be decoded ({detail})"
    remedy = "give a wav, flac, mp3, m4a, ogg or opus recording"


class NoSpeech(InputRefused):
    problem = "{path} holds no speech ({seconds:.1f} s of sound)"
    remedy = "check the microphone and record again"


class SoundRefused(InputRefused):
    problem = "the sound cannot be kept ({detail})"
    remedy = "load the page again; what is saved stays"


class NotAPicture(InputRefused):
    problem = "{path} is not a whole picture ({detail})"
    remedy = "copy it again from the camera as jpg, png or heic"


class PictureTooHard(InputRefused):
    problem = "{path} cannot be looked at ({detail})"
    remedy = "take it again with the camera's plain setting, as jpg"


class NothingToProcess(InputRefused):
    problem = "{path} holds no recording and no photo"
    remedy = "put wav, flac, mp3, m4a, ogg, opus, jpg, png or heic files into it"


class BadJobCard(InputRefused):
    problem = "{path}: {detail}"
    remedy = "correct that entry of the job card"


class BadSettings(InputRefused):
    problem = "{path}: {detail}"
    remedy = "correct that entry of the settings"


class BadLimits(InputRefused):
    problem = "{path}: {detail}"
    remedy = "write [[limit]] entries as on a job card: name, and low, high or tolerance"


class BadRecipe(InputRefused):
    problem = "the recipe file {path} cannot be understood ({detail})"
    remedy = "put it back from a backup; the jobs that it was kept from are not affected"


class RecipeChanged(InputRefused):
    problem = "version {version} of the recipe {name!r} is not as it was kept"
    remedy = "put {path} back from a backup, or keep the recipe anew under another name"


class CannotKeep(InputRefused):
    problem = "no recipe can be kept from job {job} ({detail})"
    remedy = "{mend}"


class BadFirmFile(InputRefused):
    problem = "{path} cannot be taken ({detail})"
    remedy = "mend that entry and take the file again; nothing of it was kept"


class ChecksDamaged(InputRefused):
    problem = "the list of noted checks {path} cannot be read ({detail})"
    remedy = "put it back from a backup, or take that line out"


class BadGeometry(InputRefused):
    problem = "no belt runs like this ({detail})"
    remedy = "measure at the machine again, or correct what was told"


class NothingCharted(InputRefused):
    problem = "there is nothing to chart ({detail})"
    remedy = "{mend}"


class BadCamera(InputRefused):
    problem = "{path} is not a calibrated camera ({detail})"
    remedy = "calibrate it again with 'seamnote camera', or move the file away"


class CannotCalibrate(InputRefused):
    problem = "{path}: {detail}"
    remedy = "{mend}"


class BadVocabulary(InputRefused):
    problem = "{path}: {detail}"
    remedy = "correct that entry; the README says which words a firm can add"


class BadSynonyms(InputRefused):
    problem = "{path}: {detail}"
    remedy = "write groups = [['gasket', 'seal']]: lists of words that mean the same"


class BadSearches(InputRefused):
    problem = "the saved searches {path} cannot be read ({detail})"
    remedy = "correct the file, or move it away and save the searches anew"


class BadWording(InputRefused):
    problem = "{path}, line {line}: {detail}"
    remedy = "correct that message, or leave its msgstr empty: the report then has it in English"


class BadLogo(InputRefused):
    problem = "the logo {path} cannot be shown ({detail})"
    remedy = "name a PNG, JPEG or SVG file as logo in [report] of the settings"


class BadTemplate(InputRefused):
    problem = "{path}, line {line}: {detail}"
    remedy = "correct it, or move it away so that the shipped one is used"


class JobUnfinished(InputRefused):
    problem = "job {job} was interrupted before all of its files were heard and measured"
    remedy = (
        "run 'seamnote process' on its folder again, or 'seamnote serve' to go on with its session"
    )


class OriginalChanged(InputRefused):
    problem = "{path} is not the file that was recorded"
    remedy = "put the original back; its SHA-256 stands in job.json"


class BadJobFolder(InputRefused):
    problem = "{path} cannot be read as a job ({detail})"
    remedy = "restore it from a backup; the other jobs are not affected"


class JobTooNew(BadJobFolder):
    remedy = "update Seamnote; nothing was changed"


class JobChanged(InputRefused):
    problem = "{path} holds readings that came in meanwhile"
    remedy = "nothing was overwritten; start again from the job as it is now"


class RecordChanged(InputRefused):
    problem = "{path} was changed by other hands ({detail}); nothing more is written to this job"
    remedy = "restore it from a backup, or take it as it is with 'seamnote archive adopt {job}'"


class BadCertificate(InputRefused):
    problem = "{path}: {detail}"
    remedy = "{mend}"


class NotAReport(InputRefused):
    problem = "{path} is not a PDF report ({detail})"
    remedy = "give the PDF that 'seamnote report' wrote"


class NotADrawing(InputRefused):
    problem = "{path} cannot be a signature ({detail})"
    remedy = "give a png, jpg or webp picture of dark lines on a light ground"


class CannotApprove(InputRefused):
    problem = "{path} cannot be approved ({detail})"
    remedy = "{mend}"


class CannotRestore(InputRefused):
    problem = "{path} holds no job that can be restored ({detail})"
    remedy = "nothing was changed; ask the firm that signed it for the report as it was written"


class CannotImport(InputRefused):
    problem = "job {job} in {path} was not taken in ({detail})"
    remedy = "{mend}"


class BadPackage(InputRefused):
    problem = "{path} is not a whole package of jobs ({detail})"
    remedy = "what is damaged was not taken; copy the file again, or use another one"


class JobsHere(InputRefused):
    problem = "the home {path} holds jobs already ({count})"
    remedy = (
        "add those of the backup with 'seamnote archive import {package}', or restore into "
        "another home with --home DIR"
    )


class AuthorityDamaged(InputRefused):
    problem = "the local authority {path} is damaged"
    remedy = "move it away; the next start makes another one, which the phones must learn to trust"


class DevicesDamaged(InputRefused):
    problem = "the list of paired devices {path} is damaged"
    remedy = "move it away and pair the devices anew"


class InviteRefused(InputRefused):
    problem = "this pairing code is not valid: used, older than five minutes, or mistyped"
    remedy = "have a new one shown on the machine that runs Seamnote"


class TooManyDevices(InputRefused):
    problem = "{most} devices are paired, and no more can be"
    remedy = "revoke one that is not used any more"


class OriginalsElsewhere(InputRefused):
    problem = "job {job} was restored from a report, and {count} of its original files are not here"
    remedy = "bring them with 'seamnote archive import {report} --originals FOLDER'"


class PlaceUnusable(SeamnoteError):
    exit_code = 3
    problem = "{detail}"
    remedy = "run 'seamnote doctor'"


class HomeUnusable(PlaceUnusable):
    problem = "the home {path} cannot be used ({detail})"
    remedy = "choose another with --home DIR or SEAMNOTE_HOME, or correct its permissions"


class OutputUnwritable(PlaceUnusable):
    problem = "{path} cannot be written ({detail})"
    remedy = "choose another place"


class OutputExists(PlaceUnusable):
    problem = "{path} exists already"
    remedy = "choose another name, or let it be replaced with --replace"


class RemovalIncomplete(PlaceUnusable):
    problem = (
        "job {job} says that files were removed on request, but they still lie there ({detail})"
    )
    remedy = "mend that and say 'seamnote archive redact {job} --reason TEXT --yes' again"


class EngineMissing(PlaceUnusable):
    problem = "{engine} is not usable ({detail})"
    remedy = "{install}"


class ModelDamaged(PlaceUnusable):
    problem = "the speech model file {path} is not the expected one ({detail})"
    remedy = "reinstall it: {install}"


class PageFailed(PlaceUnusable):
    problem = "the page of the report cannot be set ({detail})"
    remedy = "the job is kept as it is; please report this with the job's id"


class PassphraseMissing(PlaceUnusable):
    problem = "the signing key needs a passphrase"
    remedy = "set SEAMNOTE_PASSPHRASE, or run the command in a terminal that can ask"


class PassphraseWrong(PlaceUnusable):
    problem = "the passphrase does not open the signing key {path}"
    remedy = "try again, or correct SEAMNOTE_PASSPHRASE or the entry 'seamnote' of the keyring"


class IdentityUnusable(PlaceUnusable):
    problem = "the signing key {path} cannot be used ({detail})"
    remedy = "restore it from a backup, or move it away so that a new one is made"


class IdentityUnfit(PlaceUnusable):
    problem = "the signing key {path} cannot serve ({detail})"
    remedy = "{mend}"


class Busy(PlaceUnusable):
    problem = "{path} is being written by another process"
    remedy = "wait until that has finished and try again"


class PortTaken(PlaceUnusable):
    problem = "port {port} of {address} cannot be served from ({detail})"
    remedy = "choose another with --port, or end the program that uses it"


class NoNetwork(PlaceUnusable):
    problem = "this machine has no private network address to serve to"
    remedy = "join the network of the phone first, or serve to this machine alone without --lan"


class IndexDamaged(PlaceUnusable):
    problem = "the index {path} is damaged ({detail})"
    remedy = "run 'seamnote archive rebuild'; the job folders are not affected"


class VerificationFailed(SeamnoteError):
    exit_code = 5
    problem = "{path} is not the report that was signed ({detail})"
    remedy = "do not rely on it; ask the signer for the original"


class ArchiveDiffers(VerificationFailed):
    problem = "{path} is as it was signed, but {detail}"
    remedy = "put the originals back; their SHA-256 stand in its evidence.json"
