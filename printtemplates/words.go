package printtemplates

import (
	"fmt"
	"slices"
	"strings"
)

// A Word names a fact that a field may show.
type Word string

// The closed list of words. Each stands for a finished text with its unit.
const (
	ID        Word = "id"        // the owner's identification
	Size      Word = "size"      // chain size as stamped: 3/8 in
	Grade     Word = "grade"     // Grade 80
	Legs      Word = "legs"      // 2 legs
	Reach     Word = "reach"     // reach with its unit, empty where it is not known
	LoadName  Word = "load-name" // what the rated load is called: Rated load, WLL
	Load      Word = "load"      // the stamped load with its unit
	Angle     Word = "angle"     // the load's angle and from what it is measured
	Inspected Word = "inspected" // month of the last thorough inspection
	Due       Word = "due"       // last day of use before the next one, where the sling passed
	Status    Word = "status"    // else why it stays in: one of the two is empty
	Code      Word = "code"      // of a tag the short code; of a badge or a slip its number, which finds no sling
	Period    Word = "period"    // the colour of the period in letters, where the crib has one

	Name   Word = "name"  // a person's, as the crib calls them
	Role   Word = "role"  // rigger, attendant …
	Crib   Word = "crib"  // the crib's name
	Until  Word = "until" // last day that it holds
	Issued Word = "issued"

	Lift     Word = "lift"     // what is lifted, with its mass
	Hitch    Word = "hitch"    // how: straight, choke, basket, and its angle
	Required Word = "required" // what the lift asks of the sling, with its unit
	Allowed  Word = "allowed"  // what the sling may bear so, with its unit
	Record   Word = "record"   // where the register has it, so that paper vouches for the file
)

// A part of a field's text: a word, or else text that is printed as it stands.
type part struct {
	word    Word
	literal string
}

// Source returns the field's text as the stock's file has it, words in braces.
func (f Field) Source() string { return f.text }

// Text puts the facts in. A field that has words and whose words are all empty
// is left out: its text is empty.
func (f Field) Text(facts map[Word]string) string {
	var b strings.Builder
	words, filled := false, false
	for _, p := range f.parts {
		if p.word == "" {
			b.WriteString(p.literal)
			continue
		}
		words = true
		filled = filled || facts[p.word] != ""
		b.WriteString(facts[p.word])
	}
	if words && !filled {
		return ""
	}
	return b.String()
}

// shows says whether the field shows the word.
func (f Field) shows(w Word) bool {
	return slices.ContainsFunc(f.parts, func(p part) bool { return p.word == w })
}

// splitText reads a field's text: words of the kind in braces, the rest as it
// stands.
func splitText(text string, k Kind) ([]part, error) {
	if text == "" {
		return nil, fmt.Errorf("empty text")
	}
	var parts []part
	for text != "" {
		before, rest, found := strings.Cut(text, "{")
		if strings.Contains(before, "}") {
			return nil, fmt.Errorf("closing brace without an opening one")
		}
		if before != "" {
			parts = append(parts, part{literal: before})
		}
		if !found {
			break
		}
		word, after, closed := strings.Cut(rest, "}")
		if !closed {
			return nil, fmt.Errorf("opening brace without a closing one")
		}
		if !slices.Contains(ofKind[k].may, Word(word)) {
			return nil, fmt.Errorf("unknown word %q on a %s", word, k)
		}
		parts = append(parts, part{word: Word(word)})
		text = after
	}
	return parts, nil
}
