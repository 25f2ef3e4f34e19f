package bulk

import (
	"fmt"
	"strconv"
	"strings"

	"cribgate/core/tagcode"
	"cribgate/labeler/draft"
	"cribgate/labeler/print"
)

// A report is the file that says what has become of each sling: lines of fields
// between tabs, for a spreadsheet or a script. Its first line names the fields.
type report struct{ *draft.Draft }

// columns are the fields of a report.
var columns = []string{"what", "identification", "serial", "code", "stock", "file", "page", "place on sheet", "note"}

func newReport(name string) (*report, error) {
	d, err := draft.Create(name)
	if err != nil {
		return nil, fmt.Errorf("bulk: begin the report: %w", err)
	}
	r := &report{d}
	return r, r.line(columns...)
}

// printed says where a tag is.
func (r *report) printed(e Entry, t print.Tag, at print.Place) error {
	cell, note := "", ""
	if at.Cell > 0 {
		cell = strconv.Itoa(at.Cell)
	}
	if e.Unknown != "" {
		note = "its last tag was on " + e.Unknown + ", which is not known"
	}
	code := tagcode.ShortOf(t.Sealed.Number, t.Sealed.Serial)
	return r.line("printed", e.Ident, serialOf(e), code.String(), e.Stock, at.File, strconv.Itoa(at.Page), cell, note)
}

// left says why a sling has no tag.
func (r *report) left(i item) error {
	return r.line("left out", i.entry.Ident, serialOf(i.entry), "", i.entry.Stock, "", "", "", i.note())
}

func serialOf(e Entry) string {
	if e.Serial == 0 {
		return ""
	}
	return strconv.Itoa(int(e.Serial))
}

var blanks = strings.NewReplacer("\t", " ", "\n", " ", "\r", " ")

func (r *report) line(fields ...string) error {
	clean := make([]string, len(fields))
	for i, f := range fields {
		clean[i] = blanks.Replace(f)
	}
	if _, err := r.Write([]byte(strings.Join(clean, "\t") + "\n")); err != nil {
		return fmt.Errorf("bulk: write the report: %w", err)
	}
	return nil
}
