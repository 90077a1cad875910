package charts

import (
	"strings"

	"clipledger/monitor/folder"
)

// Unchanged tells whether dir holds, whole and as it was written, the report
// that was made from what the stamp stands for, and of how many sites. A page
// somebody changed, or lost, makes the report be written again.
func Unchanged(dir, stamp string) (sites int, ok bool) {
	files, ok := folder.Whole(dir, reportKind, stamp)
	for _, name := range files {
		if strings.HasPrefix(name, "sites/") {
			sites++
		}
	}
	return sites, ok
}
