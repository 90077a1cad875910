package fieldsheet

// The words on a sheet: how to fill it in, and what to beware of.

// Cautions stand at the foot of every sheet.
const Cautions = "Shears and knives are sharp: gloves, eye protection, and blades closed when you walk. " +
	"Mind heat: water, shade, and nobody works alone. Dry with care: a drying oven is hot, plants and paper bags can burn, and nothing is left in an oven unattended. " +
	"Local safety rules come first."

// blankLine says what becomes of a line that is left blank.
const blankLine = "A line left blank comes in as lost: missing, never zero. Import counts such lines. " +
	"Frames that were not clipped at all: delete their lines, or import with --unfilled left-out, which leaves blank lines out; " +
	"a component without a line in a frame that has others then counts as not found where the site looks for it."

// howTo says how a sheet is filled in.
func (b *Book) howTo() []string {
	if b.Estimates {
		return []string{
			"Estimate before anything is clipped, alone, and do not look at weights of any kind.",
			"Write 0 where there is none. A line left blank is no estimate; import counts such lines.",
			"Every line of the file names its observer.",
		}
	}
	out := []string{
		"Every line gets one of these: a weight (gross with tare, or net green), 0 or empty (looked for, nothing there), or lost (clipped, and the bag is gone).",
		blankLine,
	}
	for i := range b.Sheets {
		if len(b.Sheets[i].Species) > 0 {
			return append(out, "Species are kept apart: a species that is not in a frame gets 0. A species that has no line gets one, copied from another line of its frame.")
		}
	}
	return out
}
