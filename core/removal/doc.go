// Package removal answers whether a sling may stay in service after it has been
// measured and looked over.
//
// [Assess] holds every measurement of a [Question] against its criterion and
// lists what it finds, each [Finding] with its grade, its figures and the
// clause that it rests on. The verdict is the gravest grade above a note:
//
//	fit   nothing above a note
//	hold  a qualified person decides before the sling goes out again
//	out   out of service now
//
// The criteria: thickness of links by B30.9 (least diameter) and EN 818-6 (mean
// of two diameters), the sling's own system leading and the other one holding;
// growth of measured runs and difference between legs; throat, twist, section
// and latch of hooks by B30.10; wear of every other part; and a list of words
// for what is seen. What was not measured is held, never passed: an empty
// [Found] holds. A dimension of the new part that is not known holds too.
//
// Comparisons are exact, in whole micrometres. Printed figures are rounded
// afterwards and never decide: a mean and an upper limit down, a lower limit up.
//
// [Measures] gives every number of a question, found or not, with its limits and how
// far it has gone from new, for whoever draws it; the limits are those of Assess.
//
// [ParseQuestion], [Question.MarshalJSON] and [Answer.MarshalJSON] are the same as
// JSON lines. The
// package supports, and never replaces, the competent person, the maker's
// instructions and the local law; an error is never a verdict.
package removal
