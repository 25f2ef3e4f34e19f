package event

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// InsteadOf is what stands in the place of the name of a person who was erased:
// it tells people apart, and says nobody's name.
func InsteadOf(p PersonID) string { return "erased person " + p.String()[:8] }

// Unnamed gives a body of a person's own story without the name, and without what a
// report says of the person.
func Unnamed(b Body, instead string) (left Body, named bool) {
	switch b := b.(type) {
	case PersonAdded:
		b.Name, b.Terms.Qualified = instead, b.Terms.Qualified.unnamed(instead)
		return b, true
	case PersonChanged:
		b.Name, b.Terms.Qualified = instead, b.Terms.Qualified.unnamed(instead)
		return b, true
	}
	return nil, false
}

// unnamed keeps that there was something, since a body keeps its schema number.
func (q Qualified) unnamed(instead string) Qualified {
	if q == (Qualified{}) {
		return q
	}
	return Qualified{As: instead}
}

// Untold gives a body without a name in what somebody wrote by hand: notes,
// reasons, a place. What was read off metal, and what the gate was asked and
// answered, is left alone. It is false where the name is nowhere in it.
func Untold(b Body, name, instead string) (left Body, told bool) {
	cut := func(texts ...*string) {
		for _, text := range texts {
			if without := cutName(*text, name, instead); without != *text {
				*text, told = without, true
			}
		}
	}
	cutAll := func(texts []string) []string {
		texts = slices.Clone(texts)
		for i := range texts {
			cut(&texts[i])
		}
		return texts
	}
	switch b := b.(type) {
	case Registered:
		cut(&b.Details.Note, &b.Details.Place, &b.Details.ChartSource)
		left = b
	case Corrected:
		cut(&b.Details.Note, &b.Details.Place, &b.Details.ChartSource, &b.Reason)
		left = b
	case TagSpoiled:
		cut(&b.Note)
		left = b
	case Returned:
		cut(&b.Note)
		left = b
	case Held:
		cut(&b.Reason)
		left = b
	case Released:
		cut(&b.Reason)
		left = b
	case Inspected:
		cut(&b.Note)
		if b.Sheet != nil {
			sheet := *b.Sheet
			cut(&sheet.Unseen, &sheet.Method, &sheet.Why, &sheet.Repair, &sheet.Tests, &sheet.Salvage, &sheet.Qualification, &sheet.Employer, &sheet.Address)
			sheet.Instruments = slices.Clone(sheet.Instruments)
			for i := range sheet.Instruments {
				cut(&sheet.Instruments[i].Name)
			}
			b.Sheet = &sheet
		}
		left = b
	case Retired:
		cut(&b.Reason, &b.How, &b.Witness, &b.Salvage)
		left = b
	case Impounded:
		cut(&b.Reason, &b.Holder, &b.Lies)
		left = b
	case Custody:
		cut(&b.Holder, &b.Lies, &b.Note)
		left = b
	case Freed:
		cut(&b.Reason)
		left = b
	case FiguresSet:
		b.Figures = slices.Clone(b.Figures)
		for i := range b.Figures {
			cut(&b.Figures[i].Source)
		}
		left = b
	case SentOff:
		cut(&b.To, &b.Why)
		left = b
	case CameBack:
		cut(&b.From, &b.Certificate, &b.Stamp, &b.Note)
		left = b
	case Examined:
		cut(&b.Note)
		b.Defects = slices.Clone(b.Defects)
		for i := range b.Defects {
			cut(&b.Defects[i].What)
		}
		left = b
	case Remedied:
		cut(&b.How)
		left = b
	case VisitBegun:
		cut(&b.Examiner, &b.Firm, &b.Qualification)
		b.Places = cutAll(b.Places)
		left = b
	case VisitEnded:
		cut(&b.Report, &b.Note)
		left = b
	case LiftPlanned:
		cut(&b.What)
		left = b
	case LiftGivenUp:
		cut(&b.Why)
		left = b
	case PutBack:
		cut(&b.Why)
		left = b
	case Lost:
		cut(&b.Note)
		left = b
	case Found:
		cut(&b.Note)
		left = b
	case Taken:
		cut(&b.Note)
		left = b
	case HandedOn:
		cut(&b.Note)
		left = b
	case Placed:
		cut(&b.Area, &b.Note)
		left = b
	case Recalled:
		cut(&b.Reason)
		left = b
	case Checked:
		cut(&b.Note)
		left = b
	case Told:
		cut(&b.Note)
		left = b
	case CountBegun:
		b.Places = cutAll(b.Places)
		left = b
	case CountEnded:
		cut(&b.Note)
		left = b
	case Seen:
		cut(&b.Place)
		left = b
	case Moved:
		cut(&b.Place)
		left = b
	case Stray:
		cut(&b.Lies, &b.Note)
		left = b
	case StraySettled:
		cut(&b.How)
		left = b
	case Restored:
		cut(&b.Why)
		left = b
	case Erased: // what was left when another name was cut out
		cut(&b.Why)
		b.Bodies = slices.Clone(b.Bodies)
		for i := range b.Bodies {
			if again, here := b.Bodies[i].untold(name, instead); here {
				b.Bodies[i], told = again, true
			}
		}
		left = b
	}
	if !told {
		return nil, false
	}
	return left, true
}

func (e ErasedBody) untold(name, instead string) (ErasedBody, bool) {
	b, err := Decode(e.Kind, e.Schema, []byte(e.Left))
	if err != nil {
		return e, false // of a newer program, which erases there
	}
	left, told := Untold(b, name, instead)
	if !told {
		return e, false
	}
	text, err := Encode(left)
	if err != nil {
		return e, false // over MaxBody with what stands in its place
	}
	e.Left = string(text)
	return e, true
}

// Mentions reports whether a text has the name in it, as Untold finds it.
func Mentions(text, name string) bool { return cutName(text, name, "") != text }

// cutName puts instead in the place of a name, in capitals or not, where it stands
// as words of its own.
func cutName(text, name, instead string) string {
	if name == "" {
		return text
	}
	var out strings.Builder
	for at := 0; at < len(text); {
		n := foldedPrefix(text[at:], name)
		if n > 0 && !joins(last(text[:at]), first(name)) && !joins(last(name), first(text[at+n:])) {
			out.WriteString(instead)
			at += n
			continue
		}
		_, size := utf8.DecodeRuneInString(text[at:])
		out.WriteString(text[at : at+size])
		at += size
	}
	return out.String()
}

// foldedPrefix gives how many bytes of text are the name, in capitals or not; 0
// where it does not begin with it.
func foldedPrefix(text, name string) int {
	at := 0
	for _, want := range name {
		r, size := utf8.DecodeRuneInString(text[at:])
		if size == 0 || !strings.EqualFold(string(r), string(want)) {
			return 0
		}
		at += size
	}
	return at
}

// joins tells whether two characters that stand side by side are of one word.
func joins(a, b rune) bool { return ofWord(a) && ofWord(b) }

func ofWord(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) || unicode.IsMark(r) }

// first and last give a character at an end of a text, 0 for none.
func first(text string) rune {
	if text == "" {
		return 0
	}
	r, _ := utf8.DecodeRuneInString(text)
	return r
}

func last(text string) rune {
	if text == "" {
		return 0
	}
	r, _ := utf8.DecodeLastRuneInString(text)
	return r
}
