// The intakes of girdled.yaml.
#include <map>

#include "base/text.h"
#include "config/parts.h"
#include "config/values.h"

namespace girdle::config {
namespace {

class IntakeReader {
 public:
  explicit IntakeReader(const Desk& desk) : desk_(desk) {}

  Intake read(const Section& section) {
    Intake intake;
    intake.name = section.text("name");
    intake.mark = section.mark();
    name_once(section, intake.name);
    if (section.is_map("folder")) {
      intake.source = folder(section.section("folder"));
    } else if (section.is_map("serial")) {
      intake.source = serial(section.section("serial"));
    } else if (section.is_map("tcp")) {
      intake.source = tcp(section.section("tcp"));
    } else if (section.is_map("post")) {
      intake.source = PostIntake{section.section("post").size("max_size")};
    }
    intake.reader = section.text("reader");
    intake.reader_mark = section.mark("reader");
    for (auto& [option, value] : section.pairs("options")) {
      intake.options.emplace_back(std::move(option.text), std::move(value));
    }
    intake.isolate = section.choice_of<Intake::Isolate>("isolate");
    intake.max_record_bytes = section.size("max_record");
    return intake;
  }

 private:
  void name_once(const Section& section, const std::string& name) {
    current_ = {name, section.mark().line};
    const auto [first, fresh] = names_.emplace(name, section.mark("name").line);
    if (fresh || name.empty()) return;
    desk_.problem(section, "name",
                  "the intake \"" + name + "\" is here already (line " +
                      std::to_string(first->second) + "); each comes once");
  }

  // Two intakes at one place would take from each other what comes there.
  void place_once(const Section& section, std::string_view key, const std::string& place) {
    const auto [first, fresh] = places_.emplace(place, current_);
    if (fresh) return;
    const auto& [name, line] = first->second;
    desk_.problem(section, key,
                  shown(place) + " belongs to the intake " +
                      (name.empty() ? "of line " + std::to_string(line) : '"' + name + '"') +
                      " already; each has one intake");
  }

  FolderIntake folder(const Section& section) {
    FolderIntake folder;
    folder.match = section.text("match");
    folder.growing = section.choice("content") == 1;
    folder.settle = section.duration("settle");
    folder.scan_every = section.duration("scan_every");
    folder.move_done = section.choice("done") == 1;
    folder.max_bytes = section.size("max_size");
    if (folder.growing && folder.move_done) {
      desk_.problem(section, "done",
                    "a growing file stays where it is; move goes with content: whole");
    }
    if (folder.match.find('/') != folder.match.npos) {
      desk_.problem(section, "match",
                    "it is held against the names of files in the folder, which have no \"/\"");
    }
    const std::string text = section.text("path");
    if (text.empty()) return folder;
    folder.path = desk_.path(text);
    desk_.needs_folder(section.mark("path"), "path", folder.path);
    place_once(section, "path", desk_.files.canonical(folder.path).string());
    return folder;
  }

  SerialIntake serial(const Section& section) {
    SerialIntake serial;
    serial.baud = static_cast<uint32_t>(section.whole("baud"));
    serial.data_bits = static_cast<int>(section.whole("data_bits"));
    serial.parity = section.choice_of<SerialIntake::Parity>("parity");
    serial.stop_bits = static_cast<int>(section.whole("stop_bits"));
    serial.framing = framing(section);
    const std::string text = section.text("device");
    if (text.empty()) return serial;
    serial.device = desk_.path(text).string();
    place_once(section, "device", desk_.files.canonical(serial.device).string());
    return serial;
  }

  TcpIntake tcp(const Section& section) {
    TcpIntake tcp;
    tcp.framing = framing(section);
    const std::string text = section.text("connect");
    auto address = parse_host_port(text);
    if (!address) return tcp;
    tcp.host = std::move(address->host);
    tcp.port = address->port;
    place_once(section, "connect", text);
    return tcp;
  }

  Framing framing(const Section& section) {
    Framing framing;
    if (!section.is_map("frame")) {
      framing.kind = section.choice_of<Framing::Kind>("frame");
      return framing;
    }
    const Section frame = section.section("frame");
    framing.kind = frame.choice_of<Framing::Kind>("kind");
    framing.max_bytes = frame.size("max");
    switch (framing.kind) {
      case Framing::Kind::kLine:
        if (frame.text("kind").empty()) break;  // it is another's word, and told already
        only_blocks_have(frame, "a line ends at CR, LF or CRLF");
        only_astm_has(frame);
        break;
      case Framing::Kind::kBlock:
        block(frame, framing);
        only_astm_has(frame);
        break;
      case Framing::Kind::kAstm:
        astm(frame, framing);
        only_blocks_have(frame,
                         "frames of kind astm have the marks and the checksum of ASTM E1381");
        break;
    }
    return framing;
  }

  void only_blocks_have(const Section& frame, const std::string& why) {
    for (const char* key : {"start", "end", "check", "check_as", "order", "range"}) {
      if (frame.has(key)) desk_.problem(frame, key, "only a block has it; " + why);
    }
  }

  void only_astm_has(const Section& frame) {
    for (const char* key : {"timeout", "accept"}) {
      if (frame.has(key)) desk_.problem(frame, key, "only frames of kind astm have it");
    }
  }

  void astm(const Section& frame, Framing& framing) {
    framing.timeout = frame.duration("timeout");
    const Section accept = frame.section("accept");
    for (size_t i = 0; i < framing.accept.size(); ++i) {
      framing.accept[i] = accept.flag(kAstmDeviationNames[i]);
    }
    if (accept.flag("no_cr") && accept.flag("split_records")) {
      desk_.problem(
          accept, "split_records",
          "with no_cr a record ends at ETX, with split_records it goes on: one of the two");
    }
  }

  void block(const Section& frame, Framing& framing) {
    framing.start = frame.bytes("start");
    framing.end = frame.bytes("end");
    framing.check = frame.text("check");
    framing.check_hex = frame.choice("check_as") == 1 || framing.check == "sum8-hex";
    framing.check_low_byte_first = frame.choice("order") == 1;
    const Section range = frame.section("range");
    framing.check_with_start = range.choice("start") == 1;
    framing.check_with_end = range.choice("end") == 1;
    if (framing.check == "sum8-hex" && frame.text("check_as") == "bytes" && frame.has("check_as")) {
      desk_.problem(frame, "check_as", "sum8-hex is always written as hex");
    }
    if (!framing.check.empty()) return;
    for (const char* key : {"check_as", "order", "range"}) {
      if (frame.has(key)) desk_.problem(frame, key, "says how to check, and no check is named");
    }
  }

  const Desk& desk_;
  std::pair<std::string, int> current_;  // name and line
  std::map<std::string, int> names_;     // first line by name
  // Name and line of an intake by folder, device or address.
  std::map<std::string, std::pair<std::string, int>> places_;
};

}  // namespace

std::vector<Intake> read_intakes(const Section& root, const Desk& desk,
                                 std::vector<NamedFile>& mappings) {
  std::vector<Intake> out;
  IntakeReader reader(desk);
  for (const Section& section : root.sections("intakes")) {
    out.push_back(reader.read(section));
    const std::string mapping = section.text("mapping");
    mappings.push_back(mapping.empty() ? NamedFile{}
                                       : NamedFile{desk.path(mapping), section.mark("mapping")});
  }
  return out;
}

}  // namespace girdle::config
