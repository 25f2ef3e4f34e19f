package commandline

import "io"

// Terminal returns w where it is a terminal, and else nowhere: what is told
// while something is under way is for somebody who looks on.
func Terminal(w io.Writer) io.Writer {
	if isTerminal(w) {
		return w
	}
	return io.Discard
}
