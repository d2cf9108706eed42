package main

import "testing"

// Without a model there is no drafter at all: one that holds nothing would
// offer drafts that never come.
func TestDrafterOfTheSettings(t *testing.T) {
	if d, err := (settings{}).drafter(); d != nil || err != nil {
		t.Errorf("without a model the drafter is %v, error %v", d, err)
	}
	d, err := settings{ModelURL: "http://127.0.0.1:8080/v1", Model: "second-pen"}.drafter()
	if err != nil {
		t.Fatal(err)
	}
	if d.Host() != "127.0.0.1:8080" || d.Model() != "second-pen" {
		t.Errorf("the drafter is %s at %s", d.Model(), d.Host())
	}
	if d, err := (settings{ModelURL: "http://127.0.0.1:8080/v1"}).drafter(); d != nil || err == nil {
		t.Errorf("half a model gives %v, error %v", d, err)
	}
}
