package report

// What can hurt, in full.
const (
	GasCaution = "Gas and exhaust hold carbon monoxide. It has no smell and kills in minutes. " +
		"Keep the plant in the open, at most under a roof, away from windows; " +
		"put alarms where people sleep and at the plant. Headache, dizziness, sickness: " +
		"everybody out, call for help, and do not go back in for someone."
	HopperCaution = "Light up with the flare, and start the engine only when the flame is steady, " +
		"not by the clock. Keep the relief lid free. Before opening a hopper: " +
		"engine off, stand aside, no face over it, no flame. Gas stays for hours after a stop: " +
		"vent before any work. Never leave the plant alone while it burns."
	AshCaution = "Ash and char can glow for days: quench them and keep them in a metal bin with a lid, " +
		"on stone, away from house and pile. " +
		"Wood dried by waste heat or in a machine is a fire risk: never unwatched, and never in a household clothes dryer."
	WoodCaution = "Burn no painted, glued, pressure-treated or salt-water wood. " +
		"Condensate and tar are poisonous: wear gloves, and let none into soil or water."
	BankCaution = "Charging lead-acid batteries makes hydrogen: ventilate (EN/IEC 62485-2), no sparks, wear goggles; " +
		"fuse at the bank, insulated tools. Lithium needs its own management " +
		"and is not charged at or below 0 °C. Never charge a frozen battery."
	WiringCaution = "Never feed wiring that the grid or another set can feed without an interlocked " +
		"change-over fitted by a licensed person. Wiring and plant follow local codes " +
		"and licensed practice: this program estimates, it does not design or certify."
)

// A Caution is what can hurt beside what always can: in full, and in a line of a text.
type Caution struct{ Full, Short string }

// WarmthCaution is that of hot water from the set.
var WarmthCaution = Caution{"Hot water from the set: no exhaust pipe and no exhaust exchanger in the house, for they leak carbon monoxide. " +
	"The tank is vented, or has a relief valve that nobody can shut, fitted by a licensed person: a shut tank that boils bursts. " +
	"Water over 50 °C scalds in seconds: mix it at the tap. Bring the whole tank to 60 °C now and then, against legionella.",
	"Hot water: no exhaust indoors; vented or relief valve; scalds; 60 °C at times."}

// PetrolCaution is that of a petrol set.
var PetrolCaution = Caution{"Petrol: its exhaust kills as wood gas does: run the set in the open, away from windows, never in a house, shed or " +
	"garage. Keep fuel outdoors in a fit can, as local law allows; stop the set and let it cool before refuelling, no flame, no smoking. " +
	"Never let two sets, or a set and the bank's inverter, feed the same wires without an interlocked change-over.",
	"Petrol: in the open alone; fuel outdoors; refuel cold; no back-feed."}

// Cautions are all of them that always hold.
var Cautions = []string{GasCaution, HopperCaution, AshCaution, WoodCaution, BankCaution, WiringCaution}

// ShortCautions are the four lines at the end of a text.
var ShortCautions = []string{
	"Carbon monoxide kills, without a smell: plant outdoors, alarms, never alone.",
	"Flare first; engine off and stand aside before opening a hopper; vent.",
	"Ash glows for days; tar and condensate are poisonous; batteries make hydrogen.",
	"Change-over, wiring, plant: local codes, licensed people. In full: any page.",
}
