package commandline

import (
	"fmt"
	"io"
	"os"
	"time"
)

// often is how long a line of progress stands at least.
const often = 100 * time.Millisecond

// Progress shows how far long work is, on a terminal and nowhere else. The zero
// Progress shows nothing.
type Progress struct {
	w    io.Writer // nil where nothing is shown
	what string
	last time.Time
}

// NewProgress shows on w how far what is, where w is a terminal.
func NewProgress(w io.Writer, what string) *Progress {
	if !isTerminal(w) {
		return &Progress{}
	}
	return &Progress{w: w, what: what}
}

// Show says that done of total are done. It may be called as often as it suits.
func (p *Progress) Show(done, total int64) {
	if p.w == nil || total == 0 || time.Since(p.last) < often {
		return
	}
	p.last = time.Now()
	fmt.Fprintf(p.w, "\r%s: %d of %d (%d %%)", p.what, done, total, done*100/total)
}

// End ends the line, where there is one.
func (p *Progress) End() {
	if !p.last.IsZero() {
		fmt.Fprintln(p.w)
	}
}

func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	if !ok {
		return false
	}
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}
