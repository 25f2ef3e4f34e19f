package web

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"cribgate/core/tagcode"
	"cribgate/kiosk/audit"
	"cribgate/labeler/symbol"
)

// SealPage is a sheet to be printed and filed: where the register stands, in
// figures and as a symbol.
type SealPage struct {
	Base
	Short    string // "17 3f2a9c01"
	Time     string
	Hash     []string // the whole hash in parts that can be read aloud
	Symbol   Drawing
	Verified string
	Late     bool     // there is no verification, or it could not be done
	Breaks   []string // what the last verification found
	Rewrites []Rewrite
}

// A Rewrite says who could tell the register anew, and what would show it.
type Rewrite struct{ Who, Could, Shows string }

// rewrites is the whole of it, the weakest first. What a sheet is worth follows
// from the last line.
var rewrites = []Rewrite{
	{"Someone at the counter, signed in",
		"Record what is not so, under their own name. Nothing that is recorded can be changed or taken away from a page.",
		"The story of the sling: every entry has its person, its place and its time."},
	{"A keeper, signed in",
		"The same, and add people, give PINs and set the policy. Not change what is recorded.",
		"The same: who was added, by whom, and which policy held when."},
	{"Someone who can write the file",
		"Change or remove entries, cut off the end, or with some skill tell everything from some entry on anew. Not make tags.",
		"A change here and there: the verification, at its place. A cut end, or a story told anew throughout: only a sheet like this or a copy, from before. Tags that hang on slings and are not in the record."},
	{"Someone with the file and the key",
		"The same, and print tags that fit the story told anew.",
		"Only a sheet or a copy from before, the metal itself, and the papers of maker and inspector."},
	{"Someone with the file, the key, and every sheet and copy",
		"Everything.",
		"Nothing in this program. So let somebody else file the sheets."},
}

func (s *Server) seal(v *visit) error {
	head, err := s.Store.Head(v.r.Context())
	if err != nil {
		return err
	}
	paper := tagcode.Head{At: head.At, Hash: head.Hash}
	drawing, err := drawHead(paper)
	if err != nil {
		return err
	}
	p := &SealPage{
		Base: Base{Title: "Seal"}, Short: paper.String(), Time: v.wordsOf(nil).clock(head.Time), Symbol: drawing, Rewrites: rewrites,
	}
	for hash := head.Hash.String(); hash != ""; hash = hash[8:] {
		p.Hash = append(p.Hash, hash[:8])
	}
	last, failed := s.Audit.Last()
	p.Verified, p.Late, p.Breaks = verifiedWords(last, v.wordsOf(nil)), last.Ended.IsZero() || failed != nil, last.Breaks
	if failed != nil {
		p.Verified += " It could not be done since: have the disk looked at, and the kiosk's own log."
	}
	return s.render(v, http.StatusOK, "seal", p)
}

func verifiedWords(r audit.Result, w words) string {
	switch {
	case r.Ended.IsZero():
		return "The register was not verified from end to end yet."
	case r.Broken():
		return "The register did not hold when it was verified up to position " + strconv.FormatInt(r.At, 10) + ", " + w.clock(r.Ended) + "."
	}
	return "The register held when it was verified up to position " + strconv.FormatInt(r.At, 10) + ", " + w.clock(r.Ended) + "."
}

// drawHead draws a head's symbol.
func drawHead(h tagcode.Head) (Drawing, error) {
	text, err := h.Text()
	if err != nil {
		return Drawing{}, fmt.Errorf("web: draw the seal: %w", err)
	}
	return drawSymbol(text, "The seal's symbol: position "+strconv.FormatInt(h.At, 10)+" and the whole hash")
}

// drawSymbol draws a text as a symbol, in modules, with the clear margin that readers
// need around it.
func drawSymbol(text, says string) (Drawing, error) {
	code, err := symbol.Encode(text)
	if err != nil {
		return Drawing{}, fmt.Errorf("web: draw a symbol: %w", err)
	}
	const margin, size = symbol.QuietZone, symbol.Modules + 2*symbol.QuietZone
	var path strings.Builder
	for _, outline := range code.Contours() {
		for i, c := range outline {
			step := 'L'
			if i == 0 {
				step = 'M'
			}
			fmt.Fprintf(&path, "%c%d %d", step, c.X+margin, c.Y+margin)
		}
		path.WriteByte('Z')
	}
	return Drawing{Words: says, Wide: size, High: size, Paths: []DrawnPath{{Class: "modules", D: path.String()}}}, nil
}

// broken is what every page says at its top while the register does not hold.
func (s *Server) broken() string {
	if !s.Audit.Broken() {
		return ""
	}
	return "The register does not hold. Nothing is handed out; take slings back and hold them as usual. The seal page says what was found."
}
