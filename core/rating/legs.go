package rating

import "strconv"

// LegsWords says a number of legs in words, for a sentence: one leg, two legs. A
// number that no sling has is said in figures.
func LegsWords(n int) string {
	words := [...]string{"no legs", "one leg", "two legs", "three legs", "four legs"}
	if n < 0 || n >= len(words) {
		return LegsFigure(n)
	}
	return words[n]
}

// LegsFigure says a number of legs in figures, for a list: 1 leg, 2 legs.
func LegsFigure(n int) string {
	if n == 1 {
		return "1 leg"
	}
	return strconv.Itoa(n) + " legs"
}
