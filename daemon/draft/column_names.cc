#include "draft/column_names.h"

#include <algorithm>
#include <array>
#include <cstdint>
#include <iterator>
#include <unordered_map>

namespace girdle::draft {
namespace {

constexpr size_t kLongestName = 200;  // bytes; a longer text is no name

struct Word {
  std::string_view field;
  std::string_view names;  // plain ones, with | between
};

// English, German, French, Dutch, Spanish, Italian, Russian, Chinese. Of one name for several
// fields the likelier field stands first.
constexpr Word kWords[] = {
    {"measured_at",
     "timestamp|datetime|date time|time stamp|measured at|measured|tested at|at|ts|when|test time|"
     "measurement time|time of measurement|datum zeit|datum uhrzeit|zeitpunkt|zeitstempel|"
     "date heure|horodatage|fecha hora|data ora|дата время|日期时间|测试时间"},
    {"date",
     "date|day|test date|date of test|measurement date|measured on|datum|messdatum|prüfdatum|"
     "date de mesure|fecha|data|дата|日期|测试日期"},
    {"time", "time|clock|time of day|uhrzeit|zeit|heure|tijd|hora|ora|время|时间"},
    {"instrument",
     "instrument|device|serial|serial no|serial number|instrument serial|device serial|device id|"
     "instrument id|device no|instrument no|sn|s n|machine|equipment|analyzer|analyser|unit id|"
     "gerät|geraet|gerätenummer|geraetenummer|seriennummer|serien nr|appareil|numéro de série|"
     "no de série|toestel|serienummer|dispositivo|número de serie|numero di serie|"
     "прибор|серийный номер|设备|仪器|序列号"},
    {"stock_number",
     "stock|stock no|stock nr|stock number|stock id|stockno|item|item no|item number|item "
     "id|itemno|"
     "sku|stone|stone id|stone no|stone number|sample|sample id|sample no|sample number|sampleid|"
     "specimen|barcode|bar code|ref|reference|ref no|article|article no|packet|packet no|lot|lot "
     "no|"
     "parcel no|inventory no|artikel|artikelnummer|artikel nr|stein|stein nr|probe|probennummer|"
     "article no|référence|pierre|échantillon|artikelnr|steen|muestra|campione|артикул|камень|"
     "образец|инв номер|货号|编号|样品|样品编号|条码|id"},
    {"run",
     "run|№|n°|run no|run number|run id|no|nr|n|num|number|seq|sequence|sequence no|test no|test "
     "number|"
     "test id|measurement|measurement no|measurement number|measurement id|record|record no|"
     "record id|index|id|count|counter|lfd nr|nummer|messung|messung nr|mess nr|numéro|numero|"
     "mesure|meting|ensayo|misura|номер|измерение|序号|测试编号"},
    {"finding",
     "finding|result|results|verdict|outcome|conclusion|classification|class|diagnosis|decision|"
     "test result|code|result code|screening "
     "result|screening|res|ergebnis|befund|resultat|résultat|"
     "verdikt|uitslag|resultaat|resultado|risultato|esito|результат|заключение|结果|测试结果|结论"},
    {"position", "position|pos|position no|stone position|позиция|位置"},
    {"diamond_type", "diamond type|type|typ|type of diamond|тип|类型"},
    {"confidence",
     "confidence|certainty|probability|score|likelihood|conf|konfidenz|sicherheit|"
     "wahrscheinlichkeit|confiance|confianza|вероятность|置信度"},
    {"carat",
     "carat|carats|ct|cts|carat weight|weight|wt|crt|karat|karatgewicht|gewicht|poids|peso|"
     "вес|масса|караты|克拉|重量"},
    {"color", "color|colour|color grade|colour grade|col|farbe|couleur|kleur|colore|цвет|颜色"},
    {"shape", "shape|form|outline|forme|vorm|forma|форма|形状"},
    {"table_mm", "table|table size|table diameter|tafel|tafelgröße|tavola|таблица|площадка|台面"},
    {"length_mm", "length|len|länge|laenge|longueur|lengte|lunghezza|длина|长度|长"},
    {"width_mm", "width|breite|largeur|breedte|ancho|larghezza|ширина|宽度|宽"},
    {"depth_mm", "depth|height|tiefe|höhe|hoehe|hauteur|profondeur|hoogte|высота|глубина|高度|高"},
    {"temperature_c",
     "temperature|temp|ambient|ambient temperature|ambient temp|room temperature|temperatur|"
     "température|temperatuur|temperatura|температура|темп|温度"},
    {"humidity_pct",
     "humidity|rh|hum|rel humidity|relative humidity|feuchte|luftfeuchte|luftfeuchtigkeit|humidité|"
     "vochtigheid|humedad|umidità|влажность|湿度"},
    {"operator",
     "operator|user|user name|username|tester|measured by|tested by|by|technician|bediener|"
     "benutzer|prüfer|opérateur|utilisateur|gebruiker|operador|operatore|оператор|操作员"},
    {"note",
     "note|notes|remark|remarks|comment|comments|memo|bemerkung|bemerkungen|kommentar|notiz|"
     "remarque|commentaire|opmerking|nota|comentario|commento|примечание|комментарий|备注"},
    {"bench", "bench|work place|workplace|station|counter|desk|arbeitsplatz|poste|стол|工位"},
    {"identity",
     "identity|declared|declared as|declared identity|claimed|claimed as|origin|identität|identité|"
     "herkunft|origine|происхождение|来源"},
    {"mount", "mount|mounting|setting|fassung|monture|оправа|镶嵌"},
    {"channel", "channel|source|acquired|came by|kanal|quelle|canal|канал|渠道"},
    {"stones",
     "stones|pieces|pcs|number of stones|stone count|qty|quantity|anzahl|steine|nombre|"
     "количество|数量"},
    {"value",
     "value|price|amount|cost|wert|preis|valeur|prix|waarde|prijs|valor|precio|prezzo|"
     "цена|стоимость|价格|价值"},
    {"declared_at", "declared at|declared on|entered|entered on|purchased|purchase date"},
    // Fields of records after ASTM E1394, as the reader names them; what open libraries say of
    // them.
    {"finding", "r 4|r 4 1"},
    {"stock_number", "o 3|o 3 1"},
    {"measured_at", "r 13|r 12"},
    {"operator", "r 11|r 11 1"},
    {"instrument", "r 14|h 5|h 5 1"},
};

struct UnitWord {
  std::string_view field;  // "_mm": of any length
  std::string_view words;  // plain ones
  std::string_view unit;
};
constexpr UnitWord kUnits[] = {
    {"carat", "ct|cts|carat|carats|crt|karat|карат|караты|кар|克拉", "ct"},
    {"carat", "mg", "mg"},
    {"carat", "g|gr|gram|grams|gramm", "g"},
    {"_mm", "mm", "mm"},
    {"_mm", "um|µm|μm|micron|microns", "um"},
    {"_mm", "in|inch|inches|\"", "in"},
    {"temperature_c", "c|°c|degc|deg c|celsius|℃|°", "C"},
    {"temperature_c", "f|°f|degf|deg f|fahrenheit|℉", "F"},
    {"confidence", "%|pct|percent|prozent|per cent", "percent"},
    {"humidity_pct", "%|pct|percent|rh|% rh|%rh|per cent", "percent"},
};

// Each of the words in `list`, which stand with | between.
template <typename Visit>
void for_each_word(std::string_view list, const Visit& visit) {
  while (!list.empty()) {
    const size_t bar = std::min(list.find('|'), list.size());
    visit(list.substr(0, bar));
    list.remove_prefix(std::min(list.size(), bar + 1));
  }
}

bool is_among(std::string_view word, std::string_view list) {
  bool found = false;
  for_each_word(list, [&](std::string_view one) { found = found || one == word; });
  return found;
}

// The places in kWords that have a name. Made once: a wide table asks for thousands of names.
using Places = std::vector<size_t>;
const Places& places_of(const std::string& name) {
  static const auto index = [] {
    std::unordered_map<std::string_view, Places> made;
    for (size_t i = 0; i < std::size(kWords); ++i) {
      for_each_word(kWords[i].names, [&](std::string_view one) { made[one].push_back(i); });
    }
    return made;
  }();
  static const Places none;
  const auto at = index.find(name);
  return at == index.end() ? none : at->second;
}

// À to Þ, Α to Ω and А to Я, as pairs of bytes of UTF-8, to small letters.
void append_small(std::string& out, unsigned char first, unsigned char second) {
  uint32_t c = static_cast<uint32_t>((first & 0x1F) << 6 | (second & 0x3F));
  if (c >= 0xC0 && c <= 0xDE && c != 0xD7) c += 0x20;
  if (c >= 0x391 && c <= 0x3A9) c += 0x20;
  if (c >= 0x410 && c <= 0x42F) c += 0x20;
  if (c >= 0x400 && c <= 0x40F) c += 0x50;
  out += static_cast<char>(0xC0 | c >> 6);
  out += static_cast<char>(0x80 | (c & 0x3F));
}

bool is_capital(char c) { return c >= 'A' && c <= 'Z'; }
bool is_small(char c) { return c >= 'a' && c <= 'z'; }

// One that begins a new part: the N of stockNo.
bool begins_part(std::string_view name, size_t at) {
  return at > 0 && is_capital(name[at]) && is_small(name[at - 1]);
}

std::string_view last_part(std::string_view name) {
  const size_t slash = name.find_last_of("/@");
  return slash == name.npos ? name : name.substr(slash + 1);
}

bool is_of(const UnitWord& unit, std::string_view field) {
  return unit.field == "_mm" ? field.ends_with("_mm") : unit.field == field;
}

// The unit of this field that the last words of the name are, and the space before them.
const UnitWord* unit_at_end(std::string_view plain, std::string_view field, size_t& begin) {
  for (begin = plain.find(' '); begin != plain.npos; begin = plain.find(' ', begin + 1)) {
    for (const UnitWord& unit : kUnits) {
      if (is_of(unit, field) && is_among(plain.substr(begin + 1), unit.words)) return &unit;
    }
  }
  return nullptr;
}

// How strongly a name says each of kWords; see NameMeaning::strength.
class Strengths {
 public:
  void whole_is(const std::string& plain) { raise(plain, 3); }

  // Alone, or before a unit.
  void last_is(const std::string& plain) {
    raise(plain, 2);
    for (size_t space = plain.find(' '); space != plain.npos; space = plain.find(' ', space + 1)) {
      for (const size_t place : places_of(plain.substr(0, space))) {
        size_t begin = 0;
        const UnitWord* const unit = unit_at_end(plain, kWords[place].field, begin);
        if (unit != nullptr && begin == space) raise(place, 2);
      }
    }
  }

  // A short word inside of a name says too little.
  void holds(const std::string& plain) {
    for (size_t from = 0; from < plain.size();) {
      const size_t space = std::min(plain.find(' ', from), plain.size());
      if (space - from > 3) raise(plain.substr(from, space - from), 1);
      from = space + 1;
    }
  }

  std::vector<NameMeaning> meanings() const {
    std::vector<NameMeaning> found;
    for (int strength = 3; strength > 0; --strength) {
      for (size_t i = 0; i < std::size(kWords); ++i) {
        if (of_[i] == strength) found.push_back({kWords[i].field, strength});
      }
    }
    return found;
  }

 private:
  void raise(size_t place, int strength) { of_[place] = std::max(of_[place], strength); }
  void raise(const std::string& name, int strength) {
    for (const size_t place : places_of(name)) raise(place, strength);
  }

  std::array<int, std::size(kWords)> of_{};
};

}  // namespace

std::string plain_name(std::string_view name) {
  std::string out;
  bool apart = false;
  for (size_t i = 0; i < name.size(); ++i) {
    const auto byte = static_cast<unsigned char>(name[i]);
    const bool letter = is_capital(name[i]) || is_small(name[i]) || (byte >= '0' && byte <= '9') ||
                        byte == '%' || byte >= 0x80;
    if (!letter || begins_part(name, i)) apart = true;
    if (!letter) continue;
    if (apart && !out.empty()) out += ' ';
    apart = false;
    const bool pair = byte >= 0xC3 && byte <= 0xD1 && i + 1 < name.size();
    if (pair) {
      append_small(out, byte, static_cast<unsigned char>(name[++i]));
    } else {
      out += is_capital(name[i]) ? static_cast<char>(name[i] | 0x20) : name[i];
    }
  }
  return out;
}

std::vector<NameMeaning> meanings_of(std::string_view name) {
  if (name == "#") return {{"run", 3}};
  if (name.size() > kLongestName) return {};
  const std::string whole = plain_name(name);
  Strengths strengths;
  strengths.whole_is(whole);
  strengths.last_is(plain_name(last_part(name)));
  strengths.holds(whole);
  return strengths.meanings();
}

std::string_view unit_named(std::string_view text, std::string_view field) {
  const std::string plain = plain_name(text);
  for (const UnitWord& unit : kUnits) {
    if (!is_of(unit, field)) continue;
    if (is_among(plain, unit.words) || is_among(text, unit.words)) return unit.unit;
  }
  return {};
}

std::string_view unit_in(std::string_view name, std::string_view field) {
  const std::string last = plain_name(last_part(name));
  for (const UnitWord& unit : kUnits) {
    if (is_of(unit, field) && is_among(last, unit.words)) return unit.unit;
  }
  size_t begin = 0;
  const UnitWord* const unit = unit_at_end(last, field, begin);
  return unit == nullptr ? std::string_view() : unit->unit;
}

}  // namespace girdle::draft
