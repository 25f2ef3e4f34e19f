package web

import (
	"errors"
	"net/http"
	"strconv"
	"strings"

	"cribgate/core/event"
	"cribgate/kiosk/counter"
)

// PadPage is sheets to print, to write on while the program cannot be asked.
type PadPage struct {
	Base
	Sheets []PadSheet
	Rules  []string // what to hold to while writing
}

// A PadSheet is one numbered sheet.
type PadSheet struct {
	No   int
	Rows []int
}

// printPad numbers new sheets and leads to them.
func (s *Server) printPad(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	c := complaints{}
	n := paperForm{"sheets": v.raw("sheets")}.number("sheets", counter.MaxSheets, c)
	if n == 0 {
		c.add("sheets", "A number from 1 to "+itoa(counter.MaxSheets)+".")
		return s.renderPaper(v, http.StatusUnprocessableEntity, paperForm{"day": v.today.String()}, c, "")
	}
	pad, err := s.Counter.PrintPad(v.r.Context(), v.by(counter.Hand, key), n)
	if errors.Is(err, counter.ErrRole) {
		return errNotYours
	}
	if err != nil {
		return registerError(err)
	}
	return v.redirect(paperPath + "/pad/" + strconv.Itoa(pad.First) + "-" + strconv.Itoa(pad.Last))
}

// errNotYours is the refusal of an act that the role does not allow.
var errNotYours = &Visible{Code: NotAllowed, Sentence: "Your role does not allow this.", Next: "The people page says who may. Ask one of them."}

// pad shows sheets that were numbered before.
func (s *Server) pad(v *visit) error {
	from, to, _ := strings.Cut(v.r.PathValue("sheets"), "-")
	first, err1 := strconv.Atoi(from)
	last, err2 := strconv.Atoi(to)
	if err1 != nil || err2 != nil || first < 1 || last < first || last > v.crib.LastPad || last-first >= counter.MaxSheets {
		return errNoPage
	}
	p := &PadPage{Base: Base{Title: "Pad", Sheet: true}, Rules: []string{
		"Hand over nothing overdue, held, unchecked, retired or without its rating tag, and nothing whose plate you cannot read.",
		"Read the rated load off the plate for the angle; without an angle nothing goes out. Under 30° from horizontal nothing goes out. In doubt it stays here.",
		"Write down every sling on a row of its own, out and back. Enter the rows as soon as the program can be asked again, the oldest first.",
	}}
	for no := first; no <= last; no++ {
		sheet := PadSheet{No: no}
		for row := 1; row <= event.PadRows; row++ {
			sheet.Rows = append(sheet.Rows, row)
		}
		p.Sheets = append(p.Sheets, sheet)
	}
	return s.render(v, http.StatusOK, "pad", p)
}
