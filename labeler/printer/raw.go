package printer

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"time"
)

// sendRaw sends the document over a raw socket: all bytes, then the end, then
// it waits until the printer closes its side too, which says that it has read
// all of it and no more than that.
func (p *Printer) sendRaw(ctx context.Context, doc Document) Outcome {
	file, err := doc.Open()
	if err != nil {
		return Outcome{End: Refused, Why: fmt.Errorf("open document: %w", err)}
	}
	defer file.Close() // only read from
	dialer := net.Dialer{Timeout: p.options.AnswerTime}
	conn, err := dialer.DialContext(ctx, "tcp", p.address.host)
	if err != nil {
		return Outcome{End: Refused, Why: err}
	}
	defer conn.Close()                                      // nothing is written any more
	stop := context.AfterFunc(ctx, func() { conn.Close() }) // what reads or writes ends at once
	defer stop()
	p.options.Say(News{State: Sending})
	sent, err := p.stream(conn.(*net.TCPConn), file)
	switch {
	case err == nil:
		return Outcome{End: Sent}
	case ctx.Err() != nil:
		err = context.Cause(ctx)
	}
	if !sent {
		return Outcome{End: Refused, Why: err}
	}
	return Outcome{End: Unknown, Why: err}
}

// errOpen: the printer has not closed its side.
var errOpen = errors.New("the printer did not close the connection, so that it may not have read all")

// stream writes all of the document and waits for the printer's end. sent is
// whether any of it may have arrived.
func (p *Printer) stream(conn *net.TCPConn, doc io.Reader) (sent bool, err error) {
	buffer := make([]byte, 32<<10)
	for {
		n, readErr := doc.Read(buffer)
		if n > 0 {
			sent = true
			if err := conn.SetWriteDeadline(time.Now().Add(p.options.Patience)); err != nil {
				return sent, err
			}
			if _, err := conn.Write(buffer[:n]); err != nil {
				return sent, err
			}
		}
		if errors.Is(readErr, io.EOF) {
			break
		}
		if readErr != nil {
			return sent, fmt.Errorf("read document: %w", readErr)
		}
	}
	if err := conn.CloseWrite(); err != nil {
		return sent, err
	}
	if err := conn.SetReadDeadline(time.Now().Add(p.options.AnswerTime)); err != nil {
		return sent, err
	}
	if _, err := io.Copy(io.Discard, conn); errors.Is(err, os.ErrDeadlineExceeded) {
		return sent, errOpen
	} else if err != nil {
		return sent, err
	}
	return sent, nil
}
