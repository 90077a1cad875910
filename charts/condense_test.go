package charts

import (
	"slices"
	"testing"
)

func TestCondense(t *testing.T) {
	got := condense([]string{"cages went up on 2011-04-02 over 9 frames", "cages went up on 2012-04-05 over 9 frames", "no value in 2012, 2020: gaps", "no value in 2016: gaps", "no value in 2016: gaps", "alone 3"})
	want := []string{"cages went up on … over 9 frames", "cages went up on … over 9 frames", "no value in …: gaps", "no value in …: gaps", "no value in …: gaps", "alone 3"}
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	if clipped("browse was clipped by hand") != "by hand" || clipped("nothing") != "nothing" {
		t.Error("manner of clipping")
	}
}
