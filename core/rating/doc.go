// Package rating says what one leg of an alloy chain sling may carry, and what
// the legs may carry together at an angle.
//
// It holds the published tables as data, each row with its clause, and the
// facts stamped on a sling's plate ([Plate]). Tables are never recomputed and
// never converted: a sling is rated by the system it was stamped in, inch sizes
// and angles from horizontal (US), or millimetre sizes and angles from vertical
// (EN). Printed cells and single × factor differ in both directions, so neither
// is trusted alone; the smaller rules.
//
// [Rate] finds the rating of one leg. It is the smallest of
//
//   - the table's single-leg rating, or where no table has a row the maker's
//     chart as the keeper entered it;
//   - every stamped load more than 5 % below its table cell, divided by the
//     factor of its legs and angle (a stamp nearer to its cell is the table's own
//     rounding, and leaves the rating alone);
//   - the weakest component, where it is below the chain.
//
// Where there is no table cell, single × factor stands for it. A plate may also
// be one that nothing can be rated by: no row and no chart, nothing stamped, a
// stamp over its cell, stamps that contradict each other ([Fault]).
// [Rating.Load] then answers for a number of legs and an angle: the stamped load
// where one is stamped for just that, else leg × factor, and never more than the
// table cell nor than the weakest component allows.
//
// Loads are exact ([quantity.Product]); nothing here rounds. Factors for
// hitch, edge, heat and balance are not here but with the decision that applies
// them. The tables support, and never replace, the maker's plate and
// instructions, the competent person and the local law.
package rating
