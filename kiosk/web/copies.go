package web

import (
	"net/http"
	"strconv"
	"time"

	"cribgate/core/state"
	"cribgate/kiosk/copies"
)

// CopiesPage says what copies of the register there are, and how long the room on
// the disks lasts.
type CopiesPage struct {
	Base
	Lead  string
	Good  []Fact // of the newest copy
	Rows  []CopyRow
	More  string
	Disks []DiskRow
}

// A CopyRow is one copy.
type CopyRow struct{ Made, Position, File, Bytes string }

// A DiskRow is the room on one disk.
type DiskRow struct {
	Name  string
	Dir   string
	Facts []Fact
}

const (
	copiesPath = "/copies"
	copiesRows = 30 // how many the page lists
)

func (s *Server) copiesPage(v *visit) error {
	p := &CopiesPage{Base: Base{Title: "Copies"}}
	if s.Copies == nil {
		p.Lead = "This program was started without anybody looking after copies and disks."
		return s.render(v, http.StatusOK, "copies", p)
	}
	st, w, now := s.Copies.State(), v.wordsOf(nil), s.Copies.Now()
	p.Lead = "No copies of the register are made. Whoever starts the kiosk says where they go: kiosk serve --copy-to DIR, best on another disk."
	if st.Settings.Dir != "" {
		p.Lead = "One is made every " + everyWords(st.Settings.Every) + ", opened and walked to its end before it counts. " +
			"The newest " + itoa(st.Settings.Keep.Newest) + " stay, and the last of each day for " + plural(st.Settings.Keep.Days, "day") + "."
	}
	if c, ok := st.Newest(now); ok {
		p.Good = []Fact{
			{Label: "Last good copy", Value: copies.Age(now.Sub(c.Made)) + " old", Small: w.moment(c.Made), Over: st.Late(now)},
			{Label: "It tells up to position", Value: strconv.FormatInt(c.At, 10), Small: "the register is at " + strconv.FormatInt(v.at, 10)},
		}
	} else if st.Settings.Dir != "" {
		p.Good = []Fact{{Label: "Last good copy", Value: "none yet", Over: st.Late(now)}}
	}
	for i, c := range st.Copies {
		if i == copiesRows {
			p.More = "And " + itoa(len(st.Copies)-copiesRows) + " older ones."
			break
		}
		p.Rows = append(p.Rows, CopyRow{Made: w.moment(c.Made), Position: strconv.FormatInt(c.At, 10), File: c.Path, Bytes: copies.Bytes(c.Bytes)})
	}
	for _, d := range st.Disks {
		p.Disks = append(p.Disks, diskRow(d))
	}
	return s.render(v, http.StatusOK, "copies", p)
}

func everyWords(d time.Duration) string {
	if d == time.Hour {
		return "hour"
	}
	return copies.Age(d)
}

func diskRow(d copies.Disk) DiskRow {
	days := d.Days()
	last := "years, at this pace"
	if days < 1000 {
		last = plural(days, "day")
	}
	r := DiskRow{Name: upperFirst("disk of the " + d.Holds), Dir: d.Dir, Facts: []Fact{
		{Label: "Free", Value: copies.Bytes(d.Free), Over: d.Free < copies.LeastFree},
		{Label: "Added a day", Value: copies.Bytes(d.PerDay), Small: "as in the last four weeks"},
	}}
	if d.ToCome > 0 {
		r.Facts = append(r.Facts, Fact{Label: "Copies still to come", Value: copies.Bytes(d.ToCome), Small: "until as many are there as are kept"})
	}
	r.Facts = append(r.Facts, Fact{Label: "The room lasts", Value: last, Over: days < copies.WarnDays})
	return r
}

// A Want is something that somebody has to do, said on every page of those who
// work here.
type Want struct {
	Sentence string
	Path     string // where more is said
	Link     string
	Grave    bool
}

// wants is what is to be done about copies, disks and a register that was brought
// back. A page does not say what it is about itself.
func (s *Server) wants(v *visit) ([]Want, error) {
	var list []Want
	here := v.r.URL.Path
	if s.Copies != nil && v.may(actCopies) && here != copiesPath {
		for _, sentence := range s.Copies.State().Warnings(s.Copies.Now(), v.may(actSetup)) {
			list = append(list, Want{Sentence: sentence, Path: copiesPath, Link: "Copies and disks", Grave: true})
		}
	}
	if says := s.printed(v.today); says != "" && v.may(actCopies) && here != dayPath {
		list = append(list, Want{Sentence: says, Path: dayPath, Link: "The day sheet"})
	}
	if v.crib.Restored == (state.Restoration{}) || !v.may(actCompare) || here == comparePath {
		return list, nil
	}
	left, err := s.Store.ToCompare(v.r.Context(), v.crib.Restored.Log)
	if err != nil {
		return nil, err
	}
	if left > 0 {
		list = append(list, Want{Sentence: "The register was brought back from a copy. " + compareSaid(left), Path: comparePath, Link: "What to do"})
	}
	return list, nil
}
