package charts

import "clipledger/monitor/folder"

// PageName is the base name of the files of something with a name that a user
// typed, as pageName gives it.
func PageName(code string) string { return pageName(code) }

// pageName is the base name, without ending, of a site's files: a readable
// slug of its code and a short hash of the exact code.
func pageName(code string) string { return folder.Name(code, "site") }
