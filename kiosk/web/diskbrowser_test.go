package web

import (
	"context"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/kiosk/web/webtest"
	"cribgate/store"
)

// TestPageSaysThatItWaits: where an act takes long, the page says so, and pressing
// again meanwhile does nothing more.
func TestPageSaysThatItWaits(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	p := k.atCounter(webtest.Start(t), k.attendant, k.rigger)
	scanned(p, text)
	begun, end, ended := make(chan struct{}), make(chan struct{}), make(chan error, 1)
	go func() { // has the register for itself, as a slow disk would
		_, err := k.store.Do(context.WithoutCancel(t.Context()), store.Act{Station: station, Way: "program"}, func(context.Context, *store.Tx) ([]byte, error) {
			close(begun)
			<-end
			return nil, nil
		})
		ended <- err
	}()
	<-begun
	p.Click("main button.first")
	until := time.Now().Add(time.Minute)
	for p.Text("[data-heard]") == "" && time.Now().Before(until) {
		p.Click("main button.first")
	}
	if got := p.Text("[data-heard]"); got != "The kiosk is at it and takes longer than usual. Wait: pressing again does nothing more." {
		t.Errorf("the page says %q", got)
	}
	if k.recorded(id, event.KindIssued) != 0 {
		t.Error("issued before the register could be written")
	}
	p.Changes(func() { close(end) })
	if err := <-ended; err != nil {
		t.Error(err)
	}
	if got := p.Text("#verdict"); got != "Handed over" || k.recorded(id, event.KindIssued) != 1 || p.Text("[data-heard]") != "" {
		t.Errorf("%q, recorded %d times, says %q", got, k.recorded(id, event.KindIssued), p.Text("[data-heard]"))
	}
}
