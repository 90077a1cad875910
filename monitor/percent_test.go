package monitor_test

import (
	"fmt"
	"testing"

	"clipledger/monitor"
)

// What two or three decimals mean comes out as people write it.
func TestPercent(t *testing.T) {
	for i := 1; i < 1000; i++ {
		fraction := float64(i) / 1000
		want := fmt.Sprintf("%d", i/10)
		if i%10 != 0 {
			want += fmt.Sprintf(".%d", i%10)
		}
		if got := fmt.Sprintf("%g", monitor.Percent(fraction)); got != want {
			t.Errorf("%g is %s %%, not %s %%", fraction, got, want)
		}
	}
}
