// Package resemble finds the tag that a symbol resembles which is too worn to be
// read: its modules are compared with those of every tag that hangs on a sling. What
// it answers is a likeness and never a reading: whoever asks must not treat the two
// alike, and a sling goes out by it only when its plate was compared.
//
// Entry points: an [Index] holds the symbols ([Index.Put], [Index.Drop]);
// [Index.Find] compares what a picture shows with all of them, all four ways up and
// in a mirror, and leaves out modules that glare or grease hide; a [Sum] is some frames of
// a camera together. It knows no slings and no register: a tag is a digest, a text and a
// symbol.
//
// # How far is far enough
//
// [Index.Find] answers only where the chance of a wrong answer is below [Chance],
// one in 10^12, whatever the picture shows: another tag of this crib or of another
// one, a badge, a leaflet, noise. The only thing that is assumed: the sling number
// (the first 64 bits of a SHA-256) and the seal (128 bits of an HMAC-SHA-256) of a tag
// are as good as drawn by lot, for whatever is shown without being that tag.
//
// Let T be a tag of the index and G a grid that shows anything else. How many of the
// modules agree is no measure by itself. All tags share finders, header and key; two
// slings may be alike in all but their numbers; and of a symbol's 1,072 data modules
// no more than some two hundred are free, since correction follows from data. So only
// modules count that are independent of each other:
//
//   - A tag's text is drawn two characters at a time, each pair as 11 bits. A pair
//     that lies wholly in the number or the seal carries ten bits drawn by lot, hence
//     one of 1,024 of 2,048 values, all alike likely. Whatever is said of q such pairs
//     is therefore at most 2^q times as likely as if all their 11·q bits were drawn by
//     lot. All else in T counts as known.
//   - Data and correction are linear over those bits (Reed-Solomon codes are, bit by
//     bit). The mask turns modules over and changes nothing in this, once it is fixed;
//     T has one of eight. So each module is a sum of drawn bits and a constant, and
//     modules whose sums are linearly independent are drawn by lot, independently.
//   - On h such modules the number in which T differs from G is binomial: at most k
//     with the chance B(h, k) = Σ C(h, j) / 2^h over j ≤ k.
//   - Which modules are taken must not hang on T, and may hang on G: the surest first,
//     that are independent of those before, of the whole symbol, of each half and each
//     quarter of it. T is taken where it differs in at most k in any of these sets.
//
// With n tags, four ways up and two sides, eight masks, at most [MostGrids] grids
// for one answer, and the sets s, the chance that any tag at all is taken wrongly is
// at most
//
//	n · 8 · 8 · MostGrids · 2^q · Σ B(h(s), k(s))
//
// and each k(s) is the largest with which its part of the sum stays within half of
// [Chance]. That holds for whatever shares neither number nor seal with T. An older
// tag of the very same sling shares the number and most of the rest. It must not pass
// for the newer one either, so T has to be taken a second time, by the modules that
// are independent where only the seal is drawn by lot; for this n is one, since a
// sling has one tag that hangs on it, and the other half of [Chance] is spent.
//
// Where two tags are taken, none is answered. By the bound that happens less than once
// in 10^12, so it says that something else is wrong; and the one that is answered
// stands apart from the second best by what the second was refused for.
//
// # Frames that are added up
//
// A [Sum] is the mean of grids that one camera laid within a moment, and by the bound it
// is a grid like any other: a tag that stands in none of its frames is not answered,
// whatever tags do, and however they were mixed. So no tracking of hands has to be
// trusted. What is left is that the tag stood there a moment ago, and another one was put
// in its place since. So the newest frame alone must show the tag as well, by the same
// sets of modules and with one tag, one way up and [MostGrids] grids in the bound: where
// another one or nothing is on it, it passes with less than [Stale]. And whoever adds up
// takes no frame from longer ago than it takes a hand to show one tag and then another.
//
// What this does not bound: a copy or a picture of the right tag, which resembles it.
package resemble
