package worn

import (
	"bytes"
	"crypto/sha256"
	"math"
	"sync"
	"testing"

	"cribgate/core/required"
)

func maker(t testing.TB, seed uint64) *Maker {
	t.Helper()
	m, err := NewMaker(seed)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// made is a scene with that harm, or as its severity asks.
func made(t testing.TB, m *Maker, k Kind, severity, number int, h *harm) Scene {
	t.Helper()
	var s Scene
	var err error
	if h != nil {
		s, err = m.make(k, severity, number, *h)
	} else {
		s, err = m.Make(k, severity, number)
	}
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// The same seed gives the same bytes, whoever makes them and whatever was made before;
// another seed, kind, severity or number gives others.
func TestSameSeedSameFrames(t *testing.T) {
	one, two := maker(t, 7), maker(t, 7)
	made(t, two, None, 1, 1, nil)
	first := made(t, one, Mixed, 4, 2, nil)
	if again := made(t, two, Mixed, 4, 2, nil); !bytes.Equal(first.JPEG, again.JPEG) || first.Texts[0] != again.Texts[0] {
		t.Error("the same seed gave two frames")
	}
	seen := map[[32]byte]bool{sha256.Sum256(first.JPEG): true}
	for _, s := range []Scene{
		made(t, maker(t, 8), Mixed, 4, 2, nil), made(t, one, Rust, 4, 2, nil),
		made(t, one, Mixed, 5, 2, nil), made(t, one, Mixed, 4, 3, nil),
	} {
		if sum := sha256.Sum256(s.JPEG); seen[sum] {
			t.Errorf("%s %d/%d is a frame that was there", s.Kind, s.Severity, s.Number)
		} else {
			seen[sum] = true
		}
	}
	if _, err := one.Make(Paint, Severities+1, 0); err == nil {
		t.Error("there is a severity too many")
	}
	if _, err := one.Make(kinds, 1, 0); err == nil {
		t.Error("there is a kind too many")
	}
}

// A tag that nothing happened to is read, whichever way it lies, by every reader that
// is installed, and its modules are where they are said to be.
func TestCleanIsRead(t *testing.T) {
	required.Program(t, zbar)
	required.Program(t, zxing)
	m := maker(t, 3)
	others, missing := Others()
	if len(missing) > 0 {
		t.Fatalf("missing %v", missing)
	}
	dir := t.TempDir()
	b := Bench{Maker: m, Readers: append(Ours(), others...), Out: dir}
	for number := range 6 {
		s := made(t, m, Paint, 1, number, &harm{tilt: 0.2})
		if !s.Possible || s.Missed > 0.001 {
			t.Errorf("%d: a clean tag has %.3f of its modules wrong", number, s.Missed)
		}
		r, err := b.scene(t.Context(), dir, s, number)
		if err != nil {
			t.Fatal(err)
		}
		for i, reading := range r.Readings {
			if reading.Outcome == Wrong || reading.Outcome != Right && b.Readers[i].Ours {
				t.Errorf("%d: %s read %q of a clean tag", number, b.Readers[i].Name, reading.Texts)
			}
			if reading.Took <= 0 {
				t.Errorf("%d: %s took no time", number, b.Readers[i].Name)
			}
		}
	}
	// What was kept is read as photographs are, with the same outcome.
	again, err := Photos(t.Context(), dir, nil, Ours()[1:], nil)
	if err != nil || len(again) != 6 {
		t.Fatalf("%d of the kept frames are found, %v", len(again), err)
	}
	for _, r := range again {
		if r.Readings[0].Outcome != Right {
			t.Errorf("%s: kept, and read as %q", r.Name, r.Readings[0].Texts)
		}
	}
}

// Each kind of damage changes the frame more at severity 5 than at 1, by the root of
// the mean square against the same scene without it.
func TestDamageGrows(t *testing.T) {
	m := maker(t, 3)
	// One tag in one place, so that only the damage differs.
	where := harmOf(Paint, 1, m.chance(Paint, 0, ofKind))
	without := harm{tilt: where.tilt, far: where.far, focus: where.focus}
	plain := made(t, m, Paint, 1, 0, &without)
	var work sync.WaitGroup
	for k := range None {
		work.Go(func() {
			with := func(severity int) Scene {
				h := harmOf(k, severity, m.chance(k, 0, ofKind))
				h.tilt, h.far, h.focus = without.tilt, without.far, without.focus
				return made(t, m, Paint, 1, 0, &h)
			}
			first, last := with(1), with(Severities)
			least, most := apart(t, plain, first), apart(t, plain, last)
			if k == Second || k == Print { // whatever lies beside the tag, it is the wear on it that grows
				least, most = first.Missed+1e-3, last.Missed
			}
			if least <= 0 || most <= least {
				t.Errorf("%s changes a frame by %.2f at severity 1 and %.2f at %d", k, least, most, Severities)
			}
		})
	}
	work.Wait()
}

func apart(t testing.TB, one, other Scene) float64 {
	t.Helper()
	a, err := one.Brightness()
	if err != nil {
		t.Fatal(err)
	}
	b, err := other.Brightness()
	if err != nil {
		t.Fatal(err)
	}
	var sum float64
	for y := range Height {
		for x := range Width {
			d := float64(a.GrayAt(x, y).Y) - float64(b.GrayAt(x, y).Y)
			sum += d * d
		}
	}
	return math.Sqrt(sum / (Width * Height))
}

// With a register, what can be read is read; what is hidden too far is known or not
// known, and nothing else is ever taken for a tag.
func TestByRegister(t *testing.T) {
	m := maker(t, 3)
	r, err := m.ByRegister(t.Context(), 2*Shown, nil)
	if err != nil {
		t.Fatal(err)
	}
	b := Bench{Maker: m, Readers: []Reader{r}, Kinds: []Kind{Rust, Quarter, None}, Severities: []int{1}, Scenes: 3}
	results, err := Run(t.Context(), b)
	if err != nil || len(results) != 9 {
		t.Fatalf("%d results, %v", len(results), err)
	}
	read := map[string]int{}
	for _, r := range results {
		switch r.Readings[0].Outcome {
		case Wrong:
			t.Errorf("%s: %q is taken for one of %q", r.Name, r.Readings[0].Texts, r.Texts)
		case Right:
			read[r.Set]++
		}
	}
	if t.Logf("%v", read); read[Rust.String()] < 2 {
		t.Errorf("of three tags with a little rust %d are read", read[Rust.String()])
	}
	if _, err := m.ByRegister(t.Context(), Shown-1, nil); err == nil {
		t.Error("a register without room for the tags that are shown")
	}
}
