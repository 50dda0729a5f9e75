package measured

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// attenuation is what heads such as "loss" and "Dämpfung" mean: a loss whose direction they do not say. It is the
// insertion loss unless a line "# direction: backward" makes it the isolation.
const attenuation = "attenuation"

// foreignNames gives the names of columns and keys in German, French, Italian and Spanish, as those who speak the
// language write them; they are compared without accents.
var foreignNames = map[string][]string{
	Wavelength: {"Wellenlänge", "longueur d'onde", "lunghezza d'onda", "longitud de onda"},
	Frequency: {"Frequenz", "optische Frequenz", "fréquence", "fréquence optique", "frequenza", "frequenza ottica",
		"frecuencia", "frecuencia óptica"},
	Temperature: {"Temperatur", "température", "temperatura"},
	Isolation: {"Isolationsdämpfung", "Sperrdämpfung", "Rückwärtsdämpfung", "Dämpfung rückwärts", "isolement",
		"isolamento", "aislamiento"},
	InsertionLoss: {"Einfügedämpfung", "Einfügungsdämpfung", "Einfügeverlust", "Durchgangsdämpfung",
		"Durchlassdämpfung", "Vorwärtsdämpfung", "Dämpfung vorwärts", "perte d'insertion", "pertes d'insertion",
		"perdita d'inserzione", "perdita di inserzione", "perdite di inserzione", "pérdida de inserción",
		"pérdidas de inserción", "pérdida por inserción"},
	ReturnLoss: {"Rückflussdämpfung", "Rückflußdämpfung", "Reflexionsdämpfung", "perte de retour",
		"pertes de retour", "perte par réflexion", "affaiblissement de réflexion", "perdita di ritorno",
		"pérdida de retorno", "pérdidas de retorno"},
	PDL: {"polarisationsabhängige Dämpfung", "polarisationsabhängiger Verlust",
		"polarisationsabhängige Verluste", "perte dépendante de la polarisation",
		"pertes dépendantes de la polarisation", "perte dépendant de la polarisation",
		"pertes dépendant de la polarisation", "perdita dipendente dalla polarizzazione",
		"pérdida dependiente de la polarización", "pérdidas dependientes de la polarización"},
	DGD: {"differentielle Gruppenlaufzeit", "retard de groupe différentiel", "délai de groupe différentiel",
		"ritardo differenziale di gruppo", "ritardo di gruppo differenziale", "retardo diferencial de grupo",
		"retardo de grupo diferencial"},
	Repeat: {"Wiederholung", "répétition", "ripetizione", "repetición"},
	UnitName: {"Seriennummer", "Serien-Nr.", "Seriennr.", "Ser.-Nr.", "Prüfling", "numéro de série", "n° de série",
		"no de série", "matricola", "numero di serie", "número de serie", "n.º de serie", "nº de serie"},
	LotName: {"Los", "Losnummer", "Charge", "Chargennummer", "numéro de lot", "lotto", "numero di lotto", "lote",
		"número de lote"},
	attenuation: {"loss", "attenuation", "Dämpfung", "Verlust", "perte", "pertes", "atténuation", "affaiblissement",
		"perdita", "attenuazione", "pérdida", "pérdidas", "atenuación"},
}

// abroad gives the known name of a foreign one in its normal form.
var abroad = func() map[string]string {
	all := map[string]string{}
	for name, words := range foreignNames {
		for _, w := range words {
			for _, spelled := range []string{w, unaccented.Replace(w)} {
				all[normal(spelled)] = name
			}
		}
	}
	return all
}()

// unaccented spells German letters as machines without them do.
var unaccented = strings.NewReplacer("ä", "ae", "ö", "oe", "ü", "ue", "Ä", "Ae", "Ö", "Oe", "Ü", "Ue", "ß", "ss")

// plain takes the accents off letters, whether they are part of the letter or follow it, and makes apostrophes alike.
func plainLetters(s string) string {
	ascii := true
	for i := range len(s) {
		ascii = ascii && s[i] < 0x80
	}
	if ascii {
		return s
	}
	var b strings.Builder
	for _, c := range norm.NFD.String(s) {
		switch {
		case unicode.Is(unicode.Mn, c):
		case c == '’' || c == '`' || c == '´' || c == 'ʼ':
			b.WriteByte('\'')
		case c == 'ß':
			b.WriteString("ss")
		default:
			b.WriteRune(c)
		}
	}
	return b.String()
}
