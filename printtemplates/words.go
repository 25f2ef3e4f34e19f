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
	Code      Word = "code"      // the short code
)

// AllWords lists every word that a field may show.
func AllWords() []Word {
	return []Word{ID, Size, Grade, Legs, Reach, LoadName, Load, Angle, Inspected, Due, Status, Code}
}

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

// splitText reads a field's text: words in braces, the rest as it stands.
func splitText(text string) ([]part, error) {
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
		if !slices.Contains(AllWords(), Word(word)) {
			return nil, fmt.Errorf("unknown word %q", word)
		}
		parts = append(parts, part{word: Word(word)})
		text = after
	}
	return parts, nil
}
