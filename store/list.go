package store

import (
	"cmp"
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
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
	Holder    event.PersonID // out with that person; zero for all
	After     string         // what the page before gave as next; empty for the first page
	Limit     int            // slings on a page; from 1, at most MaxPage; 0 is 100
}

// MaxPage is the most slings on one page of a list.
const MaxPage = 1000

// The streams that a list is put together from. Each gives slings by
// identification and id after the cursor (?1, ?2), is bounded by ?3, and holds
// to the filters: due before ?4, states ?5 and words ?6 as JSON lists, beginning
// of the identification ?7; an empty filter lets everything pass.
const (
	listColumns = `SELECT sling.ident, sling.id, sling.state FROM sling`
	listFilters = ` AND (sling.ident, sling.id) > (?1, ?2)
		AND (?4 = '' OR sling.due < ?4)
		AND (?5 = '[]' OR sling.stands IN (SELECT value FROM json_each(?5)))
		AND substr(sling.ident, 1, length(?7)) = ?7
		AND NOT EXISTS (SELECT 1 FROM json_each(?6) AS asked WHERE NOT EXISTS (SELECT 1 FROM word
			WHERE word.word = asked.value AND word.ident = sling.ident AND word.id = sling.id))
		ORDER BY sling.ident, sling.id LIMIT ?3`

	sqlListHolder = listColumns + ` WHERE sling.holder = ?8 AND sling.holder <> ''` + listFilters
	sqlListDue    = listColumns + ` INDEXED BY sling_due
		WHERE sling.stands IN (SELECT value FROM json_each(?5)) AND sling.due < ?4` + listFilters
	sqlListStands = listColumns + ` INDEXED BY sling_stands WHERE sling.stands = ?8` + listFilters
	sqlListIdent  = listColumns + ` INDEXED BY sling_ident WHERE sling.ident < ?8` + listFilters
	sqlListWord   = `SELECT sling.ident, sling.id, sling.state FROM word JOIN sling ON sling.n = word.sling
		WHERE word.word = ?8 AND (word.ident, word.id) > (?1, ?2)
		AND (?4 = '' OR sling.due < ?4)
		AND (?5 = '[]' OR sling.stands IN (SELECT value FROM json_each(?5)))
		AND substr(sling.ident, 1, length(?7)) = ?7
		AND NOT EXISTS (SELECT 1 FROM json_each(?6) AS asked WHERE NOT EXISTS (SELECT 1 FROM word AS w
			WHERE w.word = asked.value AND w.ident = sling.ident AND w.id = sling.id))
		ORDER BY word.ident, word.id LIMIT ?3`
)

// hit is a sling found by a stream.
type hit struct {
	ident, id string
	text      []byte
}

// List gives a page of slings by identification, in the order of its bytes, and
// the cursor of the next page, empty where this is the last.
func (r Reader) List(ctx context.Context, q Query) (page []state.Sling, next string, err error) {
	limit := q.Limit
	if limit == 0 {
		limit = 100
	}
	if limit < 1 || limit > MaxPage {
		return nil, "", fmt.Errorf("store: list slings: a page of %d is not 1 to %d", limit, MaxPage)
	}
	ident, id, err := q.cursor()
	if err != nil {
		return nil, "", fmt.Errorf("store: list slings: %w", err)
	}
	streams, err := q.streams()
	if err != nil {
		return nil, "", fmt.Errorf("store: list slings: %w", err)
	}
	var hits []hit
	for _, s := range streams {
		from, fromID := ident, id
		if s.from > ident {
			from, fromID = s.from, ""
		}
		err := each(ctx, r.q, func(rows *sql.Rows) error {
			var h hit
			if err := rows.Scan(&h.ident, &h.id, &h.text); err != nil {
				return err
			}
			hits = append(hits, h)
			return nil
		}, s.sql, append([]any{from, fromID, limit + 1}, s.args...)...)
		if err != nil {
			return nil, "", fmt.Errorf("store: list slings: %w", err)
		}
	}
	slices.SortFunc(hits, func(a, b hit) int { return cmp.Or(cmp.Compare(a.ident, b.ident), cmp.Compare(a.id, b.id)) })
	hits = slices.CompactFunc(hits, func(a, b hit) bool { return a.id == b.id })
	if len(hits) > limit {
		hits = hits[:limit]
		next = hits[limit-1].ident + "\n" + hits[limit-1].id
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

// cursor takes apart what List gave as next.
func (q Query) cursor() (ident, id string, err error) {
	if q.After == "" {
		return "", "", nil
	}
	ident, id, ok := strings.Cut(q.After, "\n")
	if _, err := event.ParseSlingID(id); !ok || err != nil {
		return "", "", fmt.Errorf("%w: %q", ErrCursor, q.After)
	}
	return ident, id, nil
}

// stream is one ordered part of a list.
type stream struct {
	sql  string
	from string // no identification before this one can be in it
	args []any  // ?4 to ?8
}

// streams chooses the narrowest way to what is asked for. A text is looked for
// as a beginning of the identification and as words, which are two ways.
func (q Query) streams() ([]stream, error) {
	words := strings.Fields(strings.ToUpper(q.Text))
	begins := strings.Join(words, " ")
	list, err := q.ways(nil, begins)
	if err != nil || len(words) == 0 {
		return list, err
	}
	more, err := q.ways(words, "")
	return append(list, more...), err
}

// ways gives the streams of the slings that have all the words and whose
// identification begins so.
func (q Query) ways(words []string, begins string) ([]stream, error) {
	asked := q.States
	if len(asked) == 0 && !q.DueBefore.IsZero() {
		asked = here
	}
	states := make([]string, len(asked))
	for i, s := range asked {
		states[i] = s.String()
	}
	in, err := jsonList(states)
	if err != nil {
		return nil, err
	}
	all, err := jsonList(words)
	if err != nil {
		return nil, err
	}
	way := func(sql string, key ...any) stream {
		return stream{sql: sql, from: begins, args: append([]any{q.DueBefore.String(), in, all, begins}, key...)}
	}
	switch {
	case !q.Holder.IsZero():
		return []stream{way(sqlListHolder, q.Holder.String())}, nil
	case !q.DueBefore.IsZero():
		return []stream{way(sqlListDue)}, nil
	case len(words) > 0:
		return []stream{way(sqlListWord, words[0])}, nil
	case len(states) > 0:
		var list []stream
		for _, s := range states {
			list = append(list, way(sqlListStands, s))
		}
		return list, nil
	}
	return []stream{way(sqlListIdent, begins+"\x7f")}, nil // an identification is of ASCII characters
}

// here lists the states of a sling that is still to be inspected.
var here = []gate.State{gate.StateIn, gate.StateOut, gate.StateUnchecked, gate.StateHeld}

// jsonList spells words for SQLite's json_each.
func jsonList(words []string) (string, error) {
	if len(words) == 0 {
		return "[]", nil
	}
	text, err := json.Marshal(words)
	return string(text), err
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
