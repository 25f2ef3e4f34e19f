package desk

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// Nothing in the file tells of a person who was forgotten, and other people's
// sessions go on.
func TestForget(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "desk.sqlite")
	if err := Init(t.Context(), path); err != nil {
		t.Fatal(err)
	}
	d, err := Open(t.Context(), path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := d.Close(); err != nil {
			t.Error(err)
		}
	})
	const gone, stays = "0123456789abcdef0123456789abcdef", "fedcba9876543210fedcba9876543210"
	for _, person := range []string{gone, stays} {
		if _, err := d.SetOneTime(t.Context(), person); err != nil {
			t.Fatal(err)
		}
	}
	turn, err := json.Marshal(map[string]string{"title": `with ZEB "<Z>" WARD`})
	if err != nil {
		t.Fatal(err)
	}
	sessions := map[string]map[string]any{
		"notice": {keyWho: "1 " + stays, keyNotice: `Zeb "<Z>" Ward is taken off.`},
		"turn":   {keyWho: "1 " + stays, keyTurn: string(turn)},
		"other":  {keyWho: "1 " + stays, keyTurn: `{"title":"Ward"}`, keyNotice: "Signed."},
	}
	deadline := time.Now().Add(time.Hour)
	for token, values := range sessions {
		data, err := codec{}.Encode(deadline, values)
		if err != nil {
			t.Fatal(err)
		}
		if err := d.sessions.store.CommitCtx(t.Context(), token, data, deadline); err != nil {
			t.Fatal(err)
		}
	}
	if err := d.Forget(t.Context(), gone, `Zeb "<Z>" Ward`); err != nil {
		t.Fatal(err)
	}
	if s, err := d.Standing(t.Context(), gone); err != nil || s.HasPIN {
		t.Errorf("the PIN is kept: %+v, %v", s, err)
	}
	if s, err := d.Standing(t.Context(), stays); err != nil || !s.HasPIN {
		t.Errorf("somebody else's PIN is gone: %+v, %v", s, err)
	}
	for token, values := range sessions {
		data, found, err := d.sessions.store.FindCtx(t.Context(), token)
		if err != nil || !found {
			t.Fatalf("%s: %v", token, err)
		}
		_, now, err := codec{}.Decode(data)
		want := 1
		if token == "other" {
			want = 3
		}
		if err != nil || len(now) != want || now[keyWho] != values[keyWho] {
			t.Errorf("%s: %v, %v", token, now, err)
		}
	}
	list, err := os.ReadDir(dir)
	if err != nil || len(list) == 0 {
		t.Fatal(err)
	}
	for _, f := range list {
		data, err := os.ReadFile(filepath.Join(dir, f.Name()))
		if err != nil {
			t.Fatal(err)
		}
		for _, text := range []string{"zeb", gone} {
			if bytes.Contains(bytes.ToLower(data), []byte(strings.ToLower(text))) {
				t.Errorf("%q is in %s", text, f.Name())
			}
		}
	}
}
