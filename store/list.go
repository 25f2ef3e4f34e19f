package store

import (
	"cmp"
	"context"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
)

// Query asks for a list of slings. The zero Query asks for all of them, a page
// at a time.
type Query struct {
	Text      string         // begins the identification, or every word of it is a word of rack place or size; case does not matter
	States    []gate.State   // any of these; none for all
	DueBefore quantity.Date  // due before that day or never, and neither retired nor lost unless States says so; zero for all
	DueFrom   quantity.Date  // due on that day or later; zero for all
	MaxMonths int            // a due date later than so many months after the inspection counts as that day, as for the gate; 0 for none
	Holder    event.PersonID // out with that person; zero for all
	WantsTag  bool           // is to get a new tag, as its state says; not with Holder
	Stock     string         // with WantsTag: its last tag is on the stock of that name; empty for all
	NotIn     event.LogID    // last compared in another log than that one, and neither retired nor lost; zero for all; not with Holder or WantsTag
	Owes      event.PersonID // that person has still to say what happened to it; zero for all; not with Holder, WantsTag or NotIn
	Doubled   bool           // it lay here while the record had it out, and no tag was confirmed on it since; not with the above
	SeenIn    event.CountID  // seen last in that count; zero for all; not with the above
	NotSeenIn event.CountID  // seen last in another count or never, and in one of States, which are in, unchecked and held unless they say otherwise; zero for all; not with Text or the above
	ByPlace   bool           // as one walks along the rack: by place, and there by identification; only with States, dates and NotSeenIn
	After     string         // what the page before gave as next; empty for the first page
	Limit     int            // slings on a page; from 1, at most MaxPage; 0 is 100
}

// MaxPage is the most slings on one page of a list.
const MaxPage = 1000

// hit is a sling found by a stream, with what it is sorted by. place is empty
// where the list does not go by it.
type hit struct {
	place, ident, id string
	text             []byte
}

func (a hit) compare(b hit) int {
	return cmp.Or(cmp.Compare(a.place, b.place), cmp.Compare(a.ident, b.ident), cmp.Compare(a.id, b.id))
}

// List gives a page of slings by identification, in the order of its bytes, or
// by place, and the cursor of the next page, empty where this is the last.
func (r Reader) List(ctx context.Context, q Query) (page []state.Sling, next string, err error) {
	limit := q.Limit
	if limit == 0 {
		limit = 100
	}
	if limit < 1 || limit > MaxPage {
		return nil, "", fmt.Errorf("store: list slings: a page of %d is not 1 to %d", limit, MaxPage)
	}
	after, err := q.cursor()
	if err != nil {
		return nil, "", fmt.Errorf("store: list slings: %w", err)
	}
	streams, err := q.streams()
	if err != nil {
		return nil, "", fmt.Errorf("store: list slings: %w", err)
	}
	var hits []hit
	for _, s := range streams {
		from := after
		if s.from > from.ident {
			from = hit{ident: s.from}
		}
		err := each(ctx, r.q, func(rows cells) error {
			var h hit
			if err := rows.Scan(&h.place, &h.ident, &h.id, &h.text); err != nil {
				return err
			}
			hits = append(hits, h)
			return nil
		}, s.sql, append([]any{from.place, from.ident, from.id, limit + 1}, s.args...)...)
		if err != nil {
			return nil, "", fmt.Errorf("store: list slings: %w", err)
		}
	}
	slices.SortFunc(hits, hit.compare)
	hits = slices.CompactFunc(hits, func(a, b hit) bool { return a.id == b.id })
	if len(hits) > limit {
		hits = hits[:limit]
		next = q.next(hits[limit-1])
	}
	for _, h := range hits {
		s, err := state.DecodeSling(h.text)
		if err != nil {
			return nil, "", fmt.Errorf("store: list slings: %w", err)
		}
		page = append(page, s)
	}
	return page, next, nil
}

// next spells where a page ended; cursor takes it apart.
func (q Query) next(last hit) string {
	if q.ByPlace {
		return last.place + "\n" + last.ident + "\n" + last.id
	}
	return last.ident + "\n" + last.id
}

func (q Query) cursor() (hit, error) {
	if q.After == "" {
		return hit{}, nil
	}
	parts, want := strings.Split(q.After, "\n"), 2
	if q.ByPlace {
		want = 3
	}
	if len(parts) != want {
		return hit{}, fmt.Errorf("%w: %q", ErrCursor, q.After)
	}
	h := hit{ident: parts[want-2], id: parts[want-1]}
	if q.ByPlace {
		h.place = parts[0]
	}
	if _, err := event.ParseSlingID(h.id); err != nil {
		return hit{}, fmt.Errorf("%w: %q", ErrCursor, q.After)
	}
	return h, nil
}

// words gives what a sling is searched by besides its identification: its rack
// place, whole and in pieces, and its size.
func words(s state.Sling) []string {
	d := s.Details
	list := append(strings.Fields(strings.ToUpper(d.Place)), strings.ToUpper(d.Place), d.Sling.Size.String())
	slices.Sort(list)
	list = slices.Compact(list)
	return slices.DeleteFunc(list, func(w string) bool { return w == "" })
}

// placeKey spells a rack place so that the order of bytes is that in which one
// walks: B-2 before B-10, and what has no place at the end.
func placeKey(place string) string {
	const (
		nowhere = "\U0010FFFF" // after every other text
		digits  = 10           // of a number; longer ones sort among themselves
	)
	text := strings.Join(strings.Fields(strings.ToUpper(place)), " ")
	if text == "" {
		return nowhere
	}
	return numbers.ReplaceAllStringFunc(text, func(n string) string {
		n = strings.TrimLeft(n, "0")
		return strings.Repeat("0", max(0, digits-len(n))) + n
	})
}

var numbers = regexp.MustCompile(`[0-9]+`)
