// Package gate decides whether an alloy chain sling may go out, and for a
// stated lift.
//
// [Decide] takes a [Question]: the day, the site's policy, what the record says
// of the sling, and the lift where there is one. It answers with an [Answer]: the
// reasons against it, all that can be established and in a fixed order, and what
// is required and allowed. The verdict is issue exactly where a decision was made
// and there is no reason. [Explain] gives the working too, step by step with the
// clause each follows, from the same arithmetic.
//
// Everything fails safe. The zero Answer refuses. A question that contradicts
// itself, or holds a figure out of range, is an error ([QuestionError]) and no
// answer. What is not stated is not assumed: a lift of several legs without its
// angle is incomplete, one that nobody has called centred counts half. Masses are
// compared exactly and only rounded when printed; geometry is compared with the
// tolerance of package lift.
//
// How the rating of a leg comes about is told in package rating, how a load hangs
// in package lift. Here are added: the band of the angle (the next lower tabulated
// one), the load stamped for just those legs and that band, the choke, the edge,
// plain shortening, heat and cold, balance, and the upper fitting. A lift drawn
// by its picks is judged leg by leg as well. Under the policy "computed" a
// qualified person has signed the lift plan, and the exact tension of each leg
// takes the place of the band.
//
// The reasons that Decide gives, in their order:
//
//	rating-tag already-out unchecked held retired lost never-inspected
//	no-due-date clock-doubt overdue due-before-return no-listed-rating
//	no-stamped-rating stamp-too-high stamps-disagree heat-scrapped special-lift
//	legs-mismatch hitch-not-allowed lift-incomplete reach-too-short
//	reach-too-long legs-unequal would-roll would-tip would-tilt angle-too-flat
//	too-hot too-cold under-rated
//
// A second closed list holds those that only the counter can know, since they
// need the register, the tag or the person ([UnknownSling] and what follows it).
// [Reason.Text] puts any of them in words: what is wrong, by which rule, and what
// to do now.
//
// [ParseQuestion] and the MarshalJSON methods are the spelling of one line of
// the machine surface, and of the question and answer that are stored with an
// issue: what was written reads back exactly, and answers the same.
//
// The gate supports, and never replaces, the competent person, the maker's
// instructions and the local law. Where it and the maker disagree, the maker wins.
package gate
