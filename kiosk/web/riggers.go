package web

import (
	"cmp"
	"context"
	"slices"
	"strings"
	"unicode/utf8"

	"cribgate/core/event"
)

// mostRecent is how many names stand first: as many as a screen shows big (site
// policy, no source).
const mostRecent = 12

// recentFirst parts the names in those of whoever drew something last, the latest
// first, and the others as they come.
func (s *Server) recentFirst(ctx context.Context, names []RiggerName) (recent, others []RiggerName, err error) {
	last := map[string]int64{}
	for _, n := range names {
		id, err := event.ParsePersonID(n.ID)
		if err != nil {
			return nil, nil, err
		}
		at, err := s.Store.LastDrawn(ctx, id)
		if err != nil {
			return nil, nil, err
		}
		last[n.ID] = at
	}
	lately := slices.Clone(names)
	slices.SortStableFunc(lately, func(a, b RiggerName) int { return cmp.Compare(last[b.ID], last[a.ID]) })
	for _, n := range lately[:min(mostRecent, len(lately))] {
		if last[n.ID] > 0 {
			recent = append(recent, n)
		}
	}
	for _, n := range names {
		if !slices.Contains(recent, n) {
			others = append(others, n)
		}
	}
	return recent, others, nil
}

// initials are the first letters of the words of a name, in small letters.
func initials(name string) string {
	var out strings.Builder
	for word := range strings.FieldsSeq(strings.ToLower(name)) {
		first, _ := utf8.DecodeRuneInString(word)
		out.WriteRune(first)
	}
	return out.String()
}

// isMeant tells whether a name holds every word that is looked for, or has it for
// its initials.
func isMeant(name, find string) bool {
	letters := strings.Join(strings.FieldsFunc(strings.ToLower(find), func(r rune) bool { return r == ' ' || r == '.' }), "")
	return holdsWords(name, find) || letters != "" && strings.HasPrefix(initials(name), letters)
}
