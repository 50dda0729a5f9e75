package measured

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// attenuation is what heads such as "loss" and "Dämpfung" mean: a loss whose direction they do not say. It is the
// insertion loss unless a line "# direction: backward" makes it the isolation.
const attenuation = "attenuation"

// foreignNames gives the names of columns and keys in German, French, Italian, Spanish, Portuguese, Dutch, Chinese (in
// both scripts), Japanese and Korean, as those who speak the language write them; they are compared without accents.
var foreignNames = map[string][]string{
	Wavelength: {"Wellenlänge", "longueur d'onde", "lunghezza d'onda", "longitud de onda",
		"comprimento de onda", "golflengte", "波长", "波長", "파장"},
	Frequency: {"Frequenz", "optische Frequenz", "fréquence", "fréquence optique", "frequenza", "frequenza ottica",
		"frecuencia", "frecuencia óptica", "frequência", "frequência óptica", "frequentie", "频率", "頻率", "光频率",
		"周波数", "光周波数", "주파수"},
	Temperature: {"Temperatur", "température", "temperatura", "temperatuur", "温度", "溫度", "온도"},
	Isolation: {"Isolationsdämpfung", "Sperrdämpfung", "Rückwärtsdämpfung", "Dämpfung rückwärts", "isolement",
		"isolamento", "aislamiento", "isolação", "isolatie", "隔离度", "隔離度", "反向隔离度", "反向隔離度",
		"アイソレーション", "격리도", "아이솔레이션"},
	InsertionLoss: {"Einfügedämpfung", "Einfügungsdämpfung", "Einfügeverlust", "Durchgangsdämpfung",
		"Durchlassdämpfung", "Vorwärtsdämpfung", "Dämpfung vorwärts", "perte d'insertion", "pertes d'insertion",
		"perdita d'inserzione", "perdita di inserzione", "perdite di inserzione", "pérdida de inserción",
		"pérdidas de inserción", "pérdida por inserción",
		"perda de inserção", "perda por inserção", "invoegverlies", "插入损耗", "插入損耗", "插损", "插損", "挿入損失",
		"삽입손실", "삽입 손실"},
	ReturnLoss: {"Rückflussdämpfung", "Rückflußdämpfung", "Reflexionsdämpfung", "perte de retour",
		"pertes de retour", "perte par réflexion", "affaiblissement de réflexion", "perdita di ritorno",
		"pérdida de retorno", "pérdidas de retorno", "perda de retorno", "回波损耗", "回波損耗", "回损", "回損",
		"反射減衰量", "リターンロス", "反射損失", "반사손실", "반사 손실"},
	PDL: {"polarisationsabhängige Dämpfung", "polarisationsabhängiger Verlust",
		"polarisationsabhängige Verluste", "perte dépendante de la polarisation",
		"pertes dépendantes de la polarisation", "perte dépendant de la polarisation",
		"pertes dépendant de la polarisation", "perdita dipendente dalla polarizzazione",
		"pérdida dependiente de la polarización", "pérdidas dependientes de la polarización",
		"perda dependente da polarização", "偏振相关损耗", "偏振相關損耗", "偏波依存損失", "偏光依存損失", "편광의존손실",
		"편광 의존 손실"},
	DGD: {"differentielle Gruppenlaufzeit", "retard de groupe différentiel", "délai de groupe différentiel",
		"ritardo differenziale di gruppo", "ritardo di gruppo differenziale", "retardo diferencial de grupo",
		"retardo de grupo diferencial", "差分群时延", "差分群時延", "差分群延迟", "差分群延遲", "群遅延時間差",
		"微分群遅延"},
	Repeat: {"Wiederholung", "répétition", "ripetizione", "repetición", "repetição", "herhaling", "重复", "重複"},
	UnitName: {"Seriennummer", "Serien-Nr.", "Seriennr.", "Ser.-Nr.", "Prüfling", "numéro de série", "n° de série",
		"no de série", "matricola", "numero di serie", "número de serie", "n.º de serie", "nº de serie",
		"número de série",
		"serienummer", "序列号", "序列號", "产品编号", "シリアル番号", "製造番号", "일련번호"},
	LotName: {"Los", "Losnummer", "Charge", "Chargennummer", "numéro de lot", "lotto", "numero di lotto", "lote",
		"número de lote", "批次", "批号", "批號", "ロット", "ロット番号", "로트", "로트번호"},
	attenuation: {"loss", "attenuation", "Dämpfung", "Verlust", "perte", "pertes", "atténuation", "affaiblissement",
		"perdita", "attenuazione", "pérdida", "pérdidas", "atenuación", "perda", "atenuação", "verlies", "demping",
		"损耗", "損耗", "衰减",
		"衰減", "損失", "減衰量", "손실"},
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

// wideMarks are the marks of scripts whose letters are as wide as high which compatibility decomposition leaves alone.
var wideMarks = strings.NewReplacer("【", "[", "】", "]", "〔", "[", "〕", "]", "［", "[", "］", "]", "、", ",", "．", ".")

// narrow brings brackets, colons, letters and unit signs of such scripts into the form that the rest of a file has:
// "波长（㎚）" is "波长(nm)".
func narrow(s string) string {
	if !strings.ContainsFunc(s, func(c rune) bool { return c >= 0x2100 && c < 0x2150 || c >= 0x3000 }) {
		return s
	}
	var b strings.Builder
	for _, c := range wideMarks.Replace(s) {
		switch {
		case c >= 0x2100 && c < 0x2150, c >= 0x3300 && c < 0x3400, c >= 0xff00:
			b.WriteString(norm.NFKC.String(string(c)))
		case c == 0x3000:
			b.WriteByte(' ')
		default:
			b.WriteRune(c)
		}
	}
	return b.String()
}
