package schema_test

import (
	"testing"

	"clipledger/schema"
)

// A row without a frame type takes the site's. Where the site declares its
// shrubs on plots of their own, taking the small frame for them would make
// their weight per area 45 times too large.
func TestFrameTypeOfARowThatNamesNone(t *testing.T) {
	own := []schema.DeclaredComponent{{Component: schema.Herbaceous, FrameType: "9.6 ft2"}, {Component: schema.Browse, FrameType: "435.6 ft2", Season: "fall"}}
	tests := []struct {
		name      string
		declared  []schema.DeclaredComponent
		component schema.Component
		season    string
		want      string
	}{
		{"nothing declared", nil, schema.Browse, "peak", "9.6 ft2"},
		{"declared on the site's type", own, schema.Herbaceous, "fall", "9.6 ft2"},
		{"declared on another type", own, schema.Browse, "fall", "435.6 ft2"},
		{"declared for another season", own, schema.Browse, "peak", "9.6 ft2"},
		{"declared on several others", append(own, schema.DeclaredComponent{Component: schema.Browse, FrameType: "96 ft2"}), schema.Browse, "fall", ""},
		{"declared on several, the site's among them", append(own, schema.DeclaredComponent{Component: schema.Browse, FrameType: "9.6 ft2"}), schema.Browse, "fall", "9.6 ft2"},
		{"declared without a type", []schema.DeclaredComponent{{Component: schema.Browse}}, schema.Browse, "peak", "9.6 ft2"},
	}
	for _, tt := range tests {
		d := schema.SiteDefaults{FrameType: "9.6 ft2", Declared: tt.declared}
		if got := d.FrameTypeFor(tt.component, tt.season); got != tt.want {
			t.Errorf("%s: got %q, want %q", tt.name, got, tt.want)
		}
	}
}
