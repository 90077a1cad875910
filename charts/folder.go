package charts

import (
	"regexp"

	"clipledger/monitor/folder"
)

// markerName is the file that tells a folder is a report of ours.
const markerName = "clipledger-report.json"

// ourFile is every name a report can hold.
var ourFile = regexp.MustCompile(`^(index\.html|methods\.html|quality\.html|summary/[0-9]+\.html|sites/[a-z0-9-]+\.html|data/[a-z0-9-]+\.csv|assets/[A-Za-z0-9-]+(\.[a-z]+)*)$`)

// ourFolders are the folders of a report.
var ourFolders = []string{"assets", "data", "sites", "summary"}

var reportKind = folder.Kind{Noun: "report", Marker: markerName, MadeBy: "clipledger report", Ours: ourFile, Folders: ourFolders}

// openFolder makes or opens the folder of a report.
func openFolder(dir string) (*folder.Folder, error) { return folder.Open(dir, reportKind) }
