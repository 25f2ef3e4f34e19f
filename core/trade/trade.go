// Package trade has the words of the lifting trade on either side of the ocean:
// what a US crib calls a choker hitch, a UK crib calls a choke hitch.
//
// Texts are written once, in the program's own words, and [List.Say] puts them
// into the words of a crib. It is for texts of the program alone: what somebody
// typed, identifications, the machine surface and the register are never put
// through it. Each entry is a phrase that can mean nothing else, so that no other
// word is ever changed with it: "more reach" is one, the verb "to reach" is none.
//
// Words are not rules. Which law a crib goes by, and with it whether a qualified or
// a competent person decides, is no matter of wording: see due.Rules.
package trade

import (
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// List is one of the two lists of words. The zero List leaves every text as it
// was written.
type List uint8

// The lists.
const (
	US List = iota + 1
	UK
)

// Lang is the language tag of BCP 47 for a text in the list's words; "en" for the
// zero List.
func (l List) Lang() string {
	switch l {
	case US:
		return "en-US"
	case UK:
		return "en-GB"
	}
	return "en"
}

// entry is one phrase as texts are written with it, and what either list has for it.
type entry struct{ written, us, uk string }

// entries is the table. US words are those of 29 CFR 1910.184 and ASME B30.9 as
// quoted, and US spelling; UK words are those of LOLER and of EN 818-4 and EN 818-6
// as quoted, and UK spelling (common practice, no source, where those are silent).
// A longer phrase stands before a shorter one that it begins with.
var entries = []entry{
	{"thorough inspections", "periodic inspections", "thorough examinations"},
	{"thorough inspection", "periodic inspection", "thorough examination"},
	{"thoroughly inspected", "inspected", "thoroughly examined"},
	{"rated loads", "rated loads", "WLLs"},
	{"rated load", "rated load", "WLL"},
	{"rating tags", "rating tags", "WLL tags"},
	{"rating tag", "rating tag", "WLL tag"},
	{"choke hitch", "choker hitch", "choke hitch"},
	{"a choke", "a choker", "a choke"},
	{"more reach", "more reach", "more effective length"},
	{"less reach", "less reach", "less effective length"},
	{"the reach", "the reach", "the effective length"},
	{"its reach", "its reach", "its effective length"},
	{"and reach", "and reach", "and effective length"},
	{"reach not known", "reach not known", "effective length not known"},
	{"retired", "retired", "scrapped"},
	{"retires", "retires", "scraps"},
	{"retire", "retire", "scrap"},
	{"centre of gravity", "center of gravity", "centre of gravity"},
	{"centred", "centered", "centred"},
	{"centre", "center", "centre"},
	{"colours", "colors", "colours"},
	{"colour", "color", "colour"},
	{"galvanising", "galvanizing", "galvanising"},
}

// whole are texts that are a phrase by themselves, such as the name of a field.
var whole = []entry{{"reach", "reach", "effective length"}}

var written = phrases(entries, func(e entry) string { return e.written })

// phrases matches any of the phrases that of gives, as whole words.
func phrases(list []entry, of func(entry) string) *regexp.Regexp {
	var all []string
	for _, e := range list {
		all = append(all, regexp.QuoteMeta(of(e)))
	}
	return regexp.MustCompile(`(?i)\b(?:` + strings.Join(all, "|") + `)\b`)
}

// Say puts a text of the program into the words of the list. A phrase that begins
// with a capital is replaced by one that does.
func (l List) Say(text string) string {
	if l != US && l != UK {
		return text
	}
	for _, e := range whole {
		if strings.EqualFold(text, e.written) {
			return likeFirst(text, l.of(e))
		}
	}
	return written.ReplaceAllStringFunc(text, func(found string) string {
		i := slices.IndexFunc(entries, func(e entry) bool { return strings.EqualFold(found, e.written) })
		return likeFirst(found, l.of(entries[i]))
	})
}

func (l List) of(e entry) string {
	if l == UK {
		return e.uk
	}
	return e.us
}

func likeFirst(as, text string) string {
	if first, _ := utf8.DecodeRuneInString(as); !unicode.IsUpper(first) {
		return text
	}
	first, n := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(first)) + text[n:]
}

// Foreign names the phrases in a text that belong to the other list and not to
// this one, each once, in the order in which they stand.
// The zero List has none. It is for tests: a text in one list's words has none of
// the other's.
func (l List) Foreign(text string) []string {
	if l != US && l != UK {
		return nil
	}
	other := US + UK - l
	var differ []entry
	for _, e := range entries {
		theirs := other.of(e)
		common := len(theirs) < len(e.written) && strings.Contains(e.written, theirs) // "inspected" is a word of both
		if !common && !strings.Contains(l.of(e), theirs) {
			differ = append(differ, e)
		}
	}
	var out []string
	for _, found := range phrases(differ, other.of).FindAllString(text, -1) {
		if found = strings.ToLower(found); !slices.Contains(out, found) {
			out = append(out, found)
		}
	}
	return out
}
