package store

import (
	"encoding/json"
	"errors"
	"slices"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
)

// The streams that a list is put together from. Each gives slings after the
// cursor (?1 place, ?2 identification, ?3 id) in the order of the list, is
// bounded by ?4, and holds to the filters: due before ?5 or last inspected before
// ?6, due from ?7 and inspected from ?8, states ?9 and words ?10 as JSON lists,
// beginning of the identification ?11; an empty filter lets everything pass. ?12,
// or ?10 where the list goes by place, is what the stream goes by.
const (
	listDue = ` AND (?5 = '' OR sling.due < ?5 OR sling.inspected < ?6) AND sling.due >= ?7 AND sling.inspected >= ?8
		AND (?9 = '[]' OR sling.stands IN (SELECT value FROM json_each(?9)))`

	listColumns = `SELECT '', sling.ident, sling.id, sling.state FROM sling`
	listFilters = ` AND (sling.ident, sling.id) > (?2, ?3)` + listDue + `
		AND substr(sling.ident, 1, length(?11)) = ?11
		AND NOT EXISTS (SELECT 1 FROM json_each(?10) AS asked WHERE NOT EXISTS (SELECT 1 FROM word
			WHERE word.word = asked.value AND word.ident = sling.ident AND word.id = sling.id))
		ORDER BY sling.ident, sling.id LIMIT ?4`

	sqlListHolder = listColumns + ` WHERE sling.holder = ?12 AND sling.holder <> ''` + listFilters
	sqlListDue    = listColumns + ` INDEXED BY sling_due
		WHERE sling.stands IN (SELECT value FROM json_each(?9)) AND sling.due < ?5` + listFilters
	sqlListInspected = listColumns + ` INDEXED BY sling_inspected
		WHERE sling.stands IN (SELECT value FROM json_each(?9)) AND sling.inspected < ?6` + listFilters
	sqlListStands     = listColumns + ` INDEXED BY sling_stands WHERE sling.stands = ?12` + listFilters
	sqlListWants      = listColumns + ` INDEXED BY sling_wants WHERE sling.wants = 1` + listFilters
	sqlListWantsStock = listColumns + ` INDEXED BY sling_wants_stock WHERE sling.wants = 1 AND sling.stock = ?12` + listFilters
	sqlListBefore     = listColumns + ` INDEXED BY sling_compared WHERE sling.compared > '' AND sling.compared < ?12` + listFilters
	sqlListAfter      = listColumns + ` INDEXED BY sling_compared WHERE sling.compared > ?12` + listFilters
	sqlListIdent      = listColumns + ` INDEXED BY sling_ident WHERE sling.ident < ?12` + listFilters
	sqlListWord       = `SELECT '', sling.ident, sling.id, sling.state FROM word JOIN sling ON sling.n = word.sling
		WHERE word.word = ?12 AND (word.ident, word.id) > (?2, ?3)` + listDue + `
		AND substr(sling.ident, 1, length(?11)) = ?11
		AND NOT EXISTS (SELECT 1 FROM json_each(?10) AS asked WHERE NOT EXISTS (SELECT 1 FROM word AS w
			WHERE w.word = asked.value AND w.ident = sling.ident AND w.id = sling.id))
		ORDER BY word.ident, word.id LIMIT ?4`

	sqlListOwes    = listColumns + ` INDEXED BY sling_owes WHERE sling.owes <> '' AND instr(sling.owes, ?12)` + listFilters
	sqlListDoubled = listColumns + ` INDEXED BY sling_doubled WHERE sling.doubled <> ''` + listFilters
	sqlListSeen    = listColumns + ` INDEXED BY sling_seen WHERE sling.seen = ?12 AND sling.seen <> ''` + listFilters
	sqlListNotSeen = listColumns + ` INDEXED BY sling_stands WHERE sling.stands = ?12 AND sling.seen <> ?13` + listFilters

	// By place there are neither words nor a beginning of the identification.
	listPlaces = `SELECT sling.place, sling.ident, sling.id, sling.state FROM sling`
	listWalk   = ` AND (sling.place, sling.ident, sling.id) > (?1, ?2, ?3)` + listDue + `
		ORDER BY sling.place, sling.ident, sling.id LIMIT ?4`

	sqlPlaceDue = listPlaces + ` INDEXED BY sling_due
		WHERE sling.stands IN (SELECT value FROM json_each(?9)) AND sling.due < ?5` + listWalk
	sqlPlaceInspected = listPlaces + ` INDEXED BY sling_inspected
		WHERE sling.stands IN (SELECT value FROM json_each(?9)) AND sling.inspected < ?6` + listWalk
	sqlPlaceStands  = listPlaces + ` INDEXED BY sling_place WHERE sling.stands = ?10` + listWalk
	sqlPlaceNotSeen = listPlaces + ` INDEXED BY sling_place WHERE sling.stands = ?10 AND sling.seen <> ?11` + listWalk
)

// stream is one ordered part of a list.
type stream struct {
	sql  string
	from string // no identification before this one can be in it
	args []any  // from ?5 on
}

var (
	errByPlace = errors.New("the order of places goes with states, dates and what was not seen only")
	errNotSeen = errors.New("what was not seen goes with no text")
	errStock   = errors.New("a stock goes with a tag that is wanted only")
)

// streams chooses the narrowest way to what is asked for. A text is looked for
// as a beginning of the identification and as words, which are two ways.
func (q Query) streams() ([]stream, error) {
	words := strings.Fields(strings.ToUpper(q.Text))
	if q.ByPlace && (len(words) > 0 || q.few()) {
		return nil, errByPlace
	}
	if q.Stock != "" && !q.WantsTag {
		return nil, errStock
	}
	if len(words) > 0 && !q.NotSeenIn.IsZero() {
		return nil, errNotSeen
	}
	begins := strings.Join(words, " ")
	list, err := q.ways(nil, begins)
	if err != nil || len(words) == 0 {
		return list, err
	}
	more, err := q.ways(words, "")
	return append(list, more...), err
}

// few tells whether the query asks for slings that have an index of their own.
func (q Query) few() bool {
	return !q.Holder.IsZero() || q.WantsTag || q.NotIn != event.LogID{} || !q.Owes.IsZero() || q.Doubled || !q.SeenIn.IsZero()
}

// ways gives the streams of the slings that have all the words and whose
// identification begins so.
func (q Query) ways(words []string, begins string) ([]stream, error) {
	asked := q.States
	switch {
	case len(asked) > 0:
	case !q.NotSeenIn.IsZero():
		asked = hung
	case !q.DueBefore.IsZero():
		asked = here
	case q.ByPlace:
		asked = stands[:]
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
	before, since := inspectedBefore(q.DueBefore, q.MaxMonths), inspectedBefore(q.DueFrom, q.MaxMonths)
	filters := []any{q.DueBefore.String(), before.String(), q.DueFrom.String(), since.String(), in}
	due, inspected, standing, unseen := sqlPlaceDue, sqlPlaceInspected, sqlPlaceStands, sqlPlaceNotSeen
	if !q.ByPlace {
		filters = append(filters, all, begins)
		due, inspected, standing, unseen = sqlListDue, sqlListInspected, sqlListStands, sqlListNotSeen
	}
	way := func(sql string, key ...any) stream {
		return stream{sql: sql, from: begins, args: append(slices.Clone(filters), key...)}
	}
	switch {
	case q.WantsTag && q.Stock != "":
		return []stream{way(sqlListWantsStock, q.Stock)}, nil
	case q.WantsTag:
		return []stream{way(sqlListWants)}, nil
	case q.NotIn != event.LogID{}:
		return []stream{way(sqlListBefore, q.NotIn.String()), way(sqlListAfter, q.NotIn.String())}, nil
	case !q.Holder.IsZero():
		return []stream{way(sqlListHolder, q.Holder.String())}, nil
	case !q.Owes.IsZero():
		return []stream{way(sqlListOwes, q.Owes.String())}, nil
	case q.Doubled:
		return []stream{way(sqlListDoubled)}, nil
	case !q.SeenIn.IsZero():
		return []stream{way(sqlListSeen, q.SeenIn.String())}, nil
	case !q.NotSeenIn.IsZero():
		var list []stream
		for _, s := range states {
			list = append(list, way(unseen, s, q.NotSeenIn.String()))
		}
		return list, nil
	case !q.DueBefore.IsZero() && before.IsZero():
		return []stream{way(due)}, nil
	case !q.DueBefore.IsZero():
		return []stream{way(due), way(inspected)}, nil
	case len(words) > 0:
		return []stream{way(sqlListWord, words[0])}, nil
	case len(states) > 0:
		var list []stream
		for _, s := range states {
			list = append(list, way(standing, s))
		}
		return list, nil
	}
	return []stream{way(sqlListIdent, begins+"\x7f")}, nil // an identification is of ASCII characters
}

// inspectedBefore is the first day of an inspection from which so many months
// reach the due day or beyond: whatever was inspected earlier is due before it.
// It is zero where months is, and where no day lies so far back.
func inspectedBefore(due quantity.Date, months int) quantity.Date {
	if months <= 0 {
		return quantity.Date{}
	}
	first := due.AddMonths(-months)
	for !first.IsZero() && first.AddMonths(months).Before(due) {
		first = first.AddDays(1) // the day does not exist so many months before
	}
	return first
}

// here lists the states of a sling that is still to be inspected.
var here = []gate.State{gate.StateIn, gate.StateOut, gate.StateUnchecked, gate.StateHeld}

// hung lists the states of a sling that should hang in the rack.
var hung = []gate.State{gate.StateIn, gate.StateUnchecked, gate.StateHeld}

// jsonList spells words for SQLite's json_each.
func jsonList(words []string) (string, error) {
	if len(words) == 0 {
		return "[]", nil
	}
	text, err := json.Marshal(words)
	return string(text), err
}
