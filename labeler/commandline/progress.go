package commandline

import (
	"fmt"
	"io"
	"os"
	"strings"
	"time"
)

// often is how long a line of progress stands at least.
const often = 100 * time.Millisecond

// Progress shows how far long work is, on a terminal and nowhere else. The zero
// Progress shows nothing. It is for one goroutine.
type Progress struct {
	w     io.Writer // nil where nothing is shown
	what  string
	now   func() time.Time
	begun time.Time
	from  int64 // done when it was shown first
	last  time.Time
	width int // of the line that stands there
}

// NewProgress shows on w how far what is, where w is a terminal.
func NewProgress(w io.Writer, what string) *Progress {
	if !isTerminal(w) {
		return &Progress{}
	}
	return &Progress{w: w, what: what, now: time.Now}
}

// Show says that done of total are done: the share, how many a second, and the
// time that is left at that pace. It may be called as often as it suits.
func (p *Progress) Show(done, total int64) {
	if p.w == nil || total == 0 {
		return
	}
	now := p.now()
	if p.begun.IsZero() {
		p.begun, p.from = now, done
	} else if now.Sub(p.last) < often {
		return
	}
	p.last = now
	line := fmt.Sprintf("%s: %d of %d (%d %%)", p.what, done, total, done*100/total)
	if did, took := done-p.from, now.Sub(p.begun); did > 0 && took >= time.Second {
		line += fmt.Sprintf(", %.0f a second", float64(did)/took.Seconds())
		if left := time.Duration(float64(total-done) / float64(did) * float64(took)); left >= time.Second {
			line += fmt.Sprintf(", %s left", left.Round(time.Second))
		}
	}
	// A line that cannot be shown is no reason to end the work.
	fmt.Fprintf(p.w, "\r%s%s", line, strings.Repeat(" ", max(0, p.width-len(line))))
	p.width = len(line)
}

// End takes the line away, where there is one.
func (p *Progress) End() {
	if p.width > 0 {
		fmt.Fprintf(p.w, "\r%s\r", strings.Repeat(" ", p.width))
		p.width = 0
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
