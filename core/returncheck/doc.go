// Package returncheck chooses what is looked at, and asked, when a sling comes back.
//
// The crib learns most about a sling at that moment, and nobody at a counter looks at
// everything. [Choose] takes what is known ([Facts], by [FactsOf] from the present of
// a sling) and gives at most four things to look at and two to ask the rigger
// ([Check]), each with its reason: by what the sling is made of, what the lift asked
// of it, how long ago its last thorough inspection was, and what was not well before.
// The same facts always choose the same. What is not known is taken for the worst: the
// zero Facts give the fullest check.
//
// The questions are a closed list ([Questions]), each with a word under which its
// answer is kept for ever, what to look for, and the published source beside it. Texts
// are in the program's own words; cribgate/core/trade puts them into those of a crib.
//
// The check is a look by the counter's attendant, between thorough inspections. It
// never replaces one, nor the look before each use, the competent person, the maker's
// instructions or the local law.
package returncheck
