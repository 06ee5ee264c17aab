"""Work at the counter: what an end in the hand is, and a sample made again."""

from hosewright.service.ages import Period, read_period
from hosewright.service.flanges import Flange
from hosewright.service.identify import Identification, Near, Thread, identify, read_seat
from hosewright.service.markings import Markings, read_markings
from hosewright.service.remake import Remake, remake
from hosewright.service.sample import Sample, SampleEnd
from hosewright.service.warning import RemakeWarning

__all__ = [
    "Flange",
    "Identification",
    "Markings",
    "Near",
    "Period",
    "Remake",
    "RemakeWarning",
    "Sample",
    "SampleEnd",
    "Thread",
    "identify",
    "read_markings",
    "read_period",
    "read_seat",
    "remake",
]
