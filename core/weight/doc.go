// Package weight estimates what plate, bar, pipe, blocks and water weigh by their
// size.
//
// A [Shape] and its sizes give a volume, a [Material] its density with the published
// place it comes from, and [Of] the mass, which is always rounded up: sizes are
// counted in whole micrometres, π by a fraction above it, the volume to the next
// cubic millimetre. What comes out is an estimate, and says so wherever it is shown:
// real plates are rolled thicker, castings have ribs, pipes hold water. What is added
// for that is the site's own policy and is not in it.
//
// The estimate supports, and never replaces, weighing, the maker's papers and the
// competent person.
package weight
