/*
Package engine is the mathematics of a group's judgement: what follows from
ratings, votes, test results and calendars, and how far it can be trusted. It
knows nothing of kickoffs, chat or storage, does no input or output, imports
only the standard library, and gives the same answer to the same question
always. What is asked when, and of whom, is left to package flows; what people
get to see, to package bot.

Start from [ParseTable] and [Score], which turn a table of ratings into a map
with a test order; then [MakePlan], and [FairClose].

# Ratings

People rate an assumption from 1 to 9, once for its importance and once for the
evidence. Such numbers are ordinal: 8 is more than 4, but nobody knows whether
it is twice as much. So the engine counts and compares, and neither averages
ratings nor multiplies one scale by the other. (Levelling, below, is the one
exception; it stands beside the order and never in its place.) What is reported
of one assumption is a [Spread]: the median and the quartiles. See [Quantile]
for their definition, [Counts] for how it is done.

# How far apart people are

Whether a group agrees is judged by the disagreement index of the RAND/UCLA
method, made for panels that rate from 1 to 9. It compares the range from the
30th to the 70th percentile with the range that is usual for ratings in that
part of the scale. One word sums it up, an [Agreement]: close, mixed or split.
A split is not a nuisance. It says that somebody knows something that others
do not, and is where to talk. Of the group as a whole, Kendall's W says how far
people put the assumptions in one order: see [Kendall]. Where ballots have gaps
it is extended to those.

# The map and the test order

Evidence rises to the right and importance upwards. The thirds of the scale
decide at their ends: an importance median of 6.5 or more is important and one
below 3.5 is not, an evidence median below 3.5 is little and one of 6.5 or more
is not. Between them the map's own cuts do, so half of it is more important than
the other half; never compare two maps by number. Evidence that is split, or
thin, is little evidence whatever its median, since nobody can lean on it.
Important and little known is to be tested first; important alone comes next;
little known alone is watched; the rest comes later. Where nothing would be
tested first, though something important is not well known, the first layer of
that is. [AssumptionScore] says Known of what is.

Medians of whole ratings tie often. The lean of a [Spread] tells equal ones
apart: the share of ratings above the median less the share below. The cuts, and
what stands on them, go by the fine value, the median and then the lean.

Within a zone the order goes by non-dominated layers: whatever is at least as
important as another, on no more evidence, comes earlier. Then fine importance
decides, then less fine evidence, then the id (see [CompareIDs]). Any recoding of
the 1-9 scale that keeps its order and its thirds, and makes or ends no split,
keeps zones, layers and order.

# How much hangs on who rated

Two questions are asked of every order. What if other people of the same kind
had rated? The raters are drawn again, with replacement, a few thousand times:
[AssumptionScore] holds the share of these resamples in which an assumption is
in the top three, and the range of its rank. It is a share of resamples, never
a confidence. And what if nobody were generous or strict? [MedianPolish] takes
each rater's leaning out, and the order is made once more from what is left.
Compare the two ranks; where they differ, the order leans on who was strict.
Ratings that are too few to lean on are marked thin. And does it hang on one group, or on one
ballot? [Contrasts] compares two groups of raters, [Pivotal] leaves out each ballot in turn.

# Long lists

Nobody rates forty assumptions well in one sitting. [Deal] gives each person a
share, so that every assumption has as many raters as any other, of all groups;
[Contenders] then says what everybody should rate in a second sitting. Who was asked
about what stands in [Options].

# From votes to a level

The level at which a discovery works is the median of the votes on the
abstraction ladder: see [Ladder].

# How many to ask, and what the answer shows

[SurveySize], [SplitSize] and [DiscoverSize] say how many people a test needs,
each by a formula that is named with the figure, rounded up. [Wilson] gives the
interval for a share that was seen in few cases, and [Judge] lays k of n against
the pass mark that was fixed beforehand: supported, refuted, or not clear yet.
A [TestPlan] says before the test which results will count as what, and how often
they will mislead; before its planned number there is no verdict, unless the
count has crossed a bound that holds at every look.

# Plan and calendar

[MakePlan] lays the tests on the days that the core team can give, in test
order, and says week by week how many of the test-first assumptions have a first
result; [ProposeWeeks] makes a time box of it, which is common practice and has
no source. [FairClose] closes a window when everybody has had as much of it in
their own working hours as was promised, whatever their time zone.

# Afterwards

[Calibrate] lays the ratings of a kickoff beside what its tests found, in plain
counts, so that the next one guesses better.

# Undefined figures

A quantity that has no value, such as the median of no ratings, is an undefined
[Figure] or an absent [Place], never 0: null in JSON.
*/
package engine
