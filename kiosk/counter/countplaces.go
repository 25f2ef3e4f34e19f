package counter

import (
	"strings"
	"unicode"

	"cribgate/core/event"
	"cribgate/store"
)

// A CountPlace is a part of the rack that is counted in one go: the places that
// begin so.
type CountPlace struct {
	Begins   store.PlaceKey
	Words    int       // so many words and numbers of a place are its beginning; 0: these have no place on record
	One      store.Peg // one of the slings that should hang there
	Expected int       // slings that should hang there
	Seen     int       // of those, seen in the count, wherever
}

// mostPlaces is how many parts a rack is taken apart into: as many as can be chosen
// among on a telephone (site policy of this program, no source).
const mostPlaces = 40

// CountPlaces takes what hangs in a rack, in the order of the walk, apart by the beginnings of the places: by
// the first word or number, and by more of them where all begin with the same and
// there are not too many then. What has no place on record comes last.
func CountPlaces(pegs []store.Peg, count event.CountID) []CountPlace {
	places := countPlaces(pegs, count, 1)
	for words := 2; named(places) == 1; words++ {
		finer := countPlaces(pegs, count, words)
		if named(finer) > mostPlaces || named(finer) == 1 && finer[0].Begins == places[0].Begins {
			break
		}
		places = finer
	}
	return places
}

// named counts the parts but for that of no place.
func named(places []CountPlace) int {
	n := len(places)
	if n > 0 && places[n-1].Words == 0 {
		n--
	}
	return n
}

func countPlaces(pegs []store.Peg, count event.CountID, words int) []CountPlace {
	var places []CountPlace
	for _, p := range pegs {
		at := CountPlace{Begins: store.PlaceKey(beginning(string(p.Place), words)), Words: words, One: p}
		if p.Place == nowhere {
			at.Begins, at.Words = nowhere, 0
		}
		i := len(places) - 1
		if i < 0 || places[i].Begins != at.Begins {
			i, places = i+1, append(places, at)
		}
		places[i].Expected++
		if p.Seen == count && !count.IsZero() {
			places[i].Seen++
		}
	}
	return places
}

// BeginningOf gives so many words and numbers of a place as it is spelled.
func BeginningOf(place string, words int) string {
	return strings.TrimSpace(beginning(strings.Join(strings.Fields(place), " "), words))
}

// beginning cuts a text after so many words and numbers.
func beginning(text string, words int) string {
	n, was := 0, rune(0)
	for i, r := range text {
		kind := rune(0)
		switch {
		case unicode.IsLetter(r):
			kind = 'a'
		case r >= '0' && r <= '9':
			kind = '0'
		}
		if kind != was && was != 0 && n == words {
			return text[:i]
		}
		if kind != was && kind != 0 {
			n++
		}
		was = kind
	}
	return text
}
