package bulk

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/labeler/print"
	"cribgate/store"
)

// Under tells whether a rack place is the one that is asked for or lies under it:
// it begins with it, and neither a word nor a number is cut in two there. B-1 has
// B-1, B-1 peg 3 and B-1/2 under it, and not B-10. Case and the number of blanks
// do not matter.
func Under(place, asked string) bool {
	fold := func(s string) string { return strings.Join(strings.Fields(strings.ToUpper(s)), " ") }
	begins := fold(asked)
	rest, ok := strings.CutPrefix(fold(place), begins)
	if !ok || rest == "" {
		return ok
	}
	before, _ := utf8.DecodeLastRuneInString(begins)
	after, _ := utf8.DecodeRuneInString(rest)
	cut := unicode.IsLetter(before) && unicode.IsLetter(after) || unicode.IsDigit(before) && unicode.IsDigit(after)
	return !cut
}

// ReadList reads identifications, one a line. Blank lines are skipped. The error
// is ErrList with a *print.LineError for each line that is none, or is there twice.
func ReadList(r io.Reader) ([]string, error) {
	var idents []string
	var bad []error
	first := map[string]int{}
	lines := bufio.NewScanner(r)
	n := 0
	for lines.Scan() {
		n++
		ident := strings.TrimSpace(lines.Text())
		if ident == "" {
			continue
		}
		if err := tagcode.CheckIdent(ident); err != nil {
			bad = append(bad, &print.LineError{Line: n, Err: err})
		} else if first[ident] > 0 {
			bad = append(bad, &print.LineError{Line: n, Err: fmt.Errorf("%s is on line %d already", ident, first[ident])})
		} else {
			first[ident] = n
			idents = append(idents, ident)
		}
	}
	if err := lines.Err(); err != nil {
		return nil, fmt.Errorf("bulk: read the list after line %d: %w", n, err)
	}
	if len(bad) > 0 {
		return nil, fmt.Errorf("bulk: %w: %w", ErrList, errors.Join(bad...))
	}
	return idents, nil
}

// has tells whether a sling is one of those asked for, apart from Idents.
func (q Selection) has(s state.Sling) bool {
	d := s.Details
	return !d.Sling.Inspected.Before(q.Since) && (q.Place == "" || Under(d.Place, q.Place))
}

// each goes through the slings that are asked for: as the list has them, else as
// one walks along the rack where a place is given, else by identification. An
// identification of the list that the register does not know is an error, and all
// such are joined.
func (q Selection) each(ctx context.Context, r store.Reader, do func(state.Sling)) error {
	if q.Idents == nil {
		return q.walk(ctx, r, do)
	}
	var bad []error
	for _, ident := range q.Idents {
		s, err := r.SlingByIdent(ctx, ident)
		switch {
		case err != nil:
			bad = append(bad, fmt.Errorf("bulk: sling %s: %w", ident, err))
		case q.has(s):
			do(s)
		}
	}
	return errors.Join(bad...)
}

func (q Selection) walk(ctx context.Context, r store.Reader, do func(state.Sling)) error {
	page := store.Query{Limit: store.MaxPage, ByPlace: q.Place != ""}
	for {
		slings, more, err := r.List(ctx, page)
		if err != nil {
			return fmt.Errorf("bulk: list the slings: %w", err)
		}
		for _, s := range slings {
			if q.has(s) {
				do(s)
			}
		}
		if more == "" {
			return nil
		}
		page.After = more
	}
}

// choose makes the entries of a plan. What gets no tag as its record stands is
// left out with the reason.
func choose(ctx context.Context, r store.Reader, key tagcode.Key, prefix string, o Order, stocks *shelf) (entries []Entry, left []Left, err error) {
	seen := map[string]bool{}
	err = o.each(ctx, r, func(s state.Sling) {
		ident := s.Details.Ident
		tag, err := print.Next(s, key, prefix)
		switch {
		case seen[ident]:
			left = append(left, Left{Ident: ident, Why: "more than one sling has this identification"})
			return
		case err != nil:
			left = append(left, Left{Ident: ident, Why: why(s, err)})
			return
		}
		seen[ident] = true
		e := Entry{Ident: ident, Serial: tag.Sealed.Serial, Stock: o.Template.Name}
		if n := len(s.Tags); n > 0 && !o.Restock {
			if own := s.Tags[n-1].Stock; stocks.has(own) {
				e.Stock = own
			} else {
				e.Unknown = own
			}
		}
		entries = append(entries, e)
	})
	return entries, left, err
}

// why says in few words why a sling gets no tag.
func why(s state.Sling, err error) string {
	for _, known := range []struct {
		is  error
		say string
	}{
		{print.ErrGone, "it is " + s.Details.Sling.State.String()},
		{print.ErrDoubt, print.ErrDoubt.Error()},
		{print.ErrSerials, print.ErrSerials.Error()},
	} {
		if errors.Is(err, known.is) {
			return known.say
		}
	}
	return strings.TrimPrefix(err.Error(), "print: ")
}

// gone tells whether a sling has left the crib.
func gone(s state.Sling) bool {
	return slices.Contains([]gate.State{gate.StateRetired, gate.StateLost}, s.Details.Sling.State)
}
