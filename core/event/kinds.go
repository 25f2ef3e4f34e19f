package event

import (
	"maps"
	"slices"
)

// Kinds gives the closed list of facts by name, in the order of the alphabet.
func Kinds() []Kind { return slices.Sorted(maps.Keys(kinds)) }

// Newest is the last schema number of a kind that this program knows, 0 for a
// kind that it does not know.
func Newest(k Kind) int { return len(kinds[k]) }
