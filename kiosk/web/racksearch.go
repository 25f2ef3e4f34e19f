package web

import (
	"encoding/json"
	"fmt"
)

// searchMost is the longest text that is looked for while it is typed, in characters;
// cleanFind then says what can be found at all.
const searchMost = 100

// search answers what is typed while it is typed, with what hangs on the rack then. It
// lists what the rack lists for the same text, but no address leads further, since
// that would carry what was typed. Whether it is a code is asked when it is sent.
func (s *Server) search(v *visit) error {
	text, complaint := v.line("find", searchMost)
	find := cleanFind(text)
	query, ok := s.rackQuery(v, v.raw("show"), find)
	if !ok {
		return errNoPage
	}
	p := &RackPage{}
	switch {
	case complaint != "":
		p.Empty = complaint
	case text != "" && find == "":
		p.Empty = "No identification is as long as this. Press Find where it is something else."
	default:
		if err := s.hang(v, p, query, v.raw("show"), find); err != nil {
			return err
		}
		if find != "" && p.Next != "" {
			p.Next, p.More = "", fmt.Sprintf("These are the first %d. Type more to see fewer.", rackPegs)
		}
	}
	stands, err := json.Marshal(s.madeFrom(v).Stand)
	if err != nil {
		return fmt.Errorf("web: say how things stand: %w", err)
	}
	v.w.Header().Set(pageStands, string(stands))
	return s.renderPart(v, "rack", "searched", p)
}
