package webtest

import (
	"sync"
	"testing"
)

// Main runs the tests of a package, which share one browser: opening one takes as long
// as many a test.
//
//	func TestMain(m *testing.M) { os.Exit(webtest.Main(m)) }
func Main(m *testing.M) (code int) {
	common.share()
	defer common.end()
	return m.Run()
}

// common is the browser of the tests of this program. It is what Main changes, once,
// before and after all tests.
var common sharedBrowser

type sharedBrowser struct {
	mu     sync.Mutex
	shared bool
	b      *Browser
	close  func()
}

func (s *sharedBrowser) share() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.shared = true
}

// get opens the browser for the first who asks; nil where none is shared.
func (s *sharedBrowser) get(t testing.TB, path string) *Browser {
	t.Helper()
	s.mu.Lock()
	defer s.mu.Unlock()
	if !s.shared {
		return nil
	}
	if s.b == nil {
		b, end, err := open(path)
		if err != nil {
			t.Fatal(err)
		}
		s.b, s.close = b, end
	}
	return s.b
}

func (s *sharedBrowser) end() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.close != nil {
		s.close()
	}
}
