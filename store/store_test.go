package store_test

import (
	"testing"

	"cribgate/core/event"
	"cribgate/store"
	"cribgate/store/storetest"
)

func TestSmoke(t *testing.T) {
	s, keeper, _ := storetest.New(t, store.Options{Program: "test"})
	p, err := s.Person(t.Context(), keeper)
	if err != nil || p.Name != "Kay Keeper" || p.Roles != event.Keeper {
		t.Errorf("%+v, %v", p, err)
	}
	sl := storetest.Register(t, s, 1)
	sl = storetest.Append(t, s, sl.ID, sl.Heads, event.Issued{Rigger: keeper, Serial: 1})
	t.Logf("%+v", sl)
}
