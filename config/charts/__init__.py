"""Drawings in figures and words: counts, dates and minor units in, coordinates as text out.

Every chart is drawn twice, about 690 and 328 wide, so that its letters keep their size; the templates of
`components/chart.html` write the shapes out. Nothing here knows Django, a database or today's date.
"""

from config.charts.bars import Bar, bars
from config.charts.beasts import Beast, beast_of
from config.charts.drawing import Chart, Drawing
from config.charts.flow import Source, Target, flow
from config.charts.occupancy import Night, occupancy
from config.charts.outcomes import Choice, Ending, outcomes
from config.charts.ranges import Range, ranges
from config.charts.shrinking import Closing, shrinking
from config.charts.steps import Line, Moment, steps
from config.charts.strokes import strokes
from config.charts.tally import Tally, tally

__all__ = [
    "Bar",
    "Beast",
    "Chart",
    "Choice",
    "Closing",
    "Drawing",
    "Ending",
    "Line",
    "Moment",
    "Night",
    "Range",
    "Source",
    "Tally",
    "Target",
    "bars",
    "beast_of",
    "flow",
    "occupancy",
    "outcomes",
    "ranges",
    "shrinking",
    "steps",
    "strokes",
    "tally",
]
