// A reader that breaks its contract, in the way that its option `behaviour` names; without one it
// gives a record a line, with the line as field "text".
//
// "feed:crash" does the misdeed (misdeeds.h) "crash" in feed; so for create, finish, consumed, save
// and destroy. "feed@R2:crash" does it in feed only in a document that begins with R2, or that goes
// on from a state that does.
#include <girdle/reader.h>

#include <cstring>
#include <string>
#include <vector>

#include "misdeeds.h"

struct girdle_reader {
  const girdle_reader_host* host;
  std::string behaviour;
  std::string line;
  uint64_t fed = 0;
  uint64_t done = 0;
  uint64_t lines = 0;
  std::string begin;  // of the document: as much as there may be a question of
};

namespace {

girdle_text text(std::string_view view) { return {view.data(), view.size()}; }

void misbehave_in(std::string_view where, const girdle_reader& r) {
  std::string_view behaviour = r.behaviour;
  const size_t colon = behaviour.find(':');
  if (colon == std::string_view::npos) return;
  std::string_view place = behaviour.substr(0, colon);
  if (const size_t at = place.find('@'); at != std::string_view::npos) {
    if (!r.begin.starts_with(place.substr(at + 1))) return;
    place = place.substr(0, at);
  }
  if (place == where) girdle::misdeeds::commit(behaviour.substr(colon + 1));
}

girdle_status emit(girdle_reader& r, girdle_record record, const char* name,
                   std::string_view value) {
  const girdle_text names[] = {text(name), text("more")};
  const girdle_text values[] = {text(value), text("x")};
  record.names = names;
  record.values = values;
  const std::string& b = r.behaviour;
  std::vector<girdle_text> many(2000, text("x"));
  const girdle_text lost[] = {{nullptr, 5}, {nullptr, 5}};
  const girdle_text endless[] = {{value.data(), SIZE_MAX / 2}};
  if (b == "null_names") record.names = nullptr;
  if (b == "null_values") record.values = nullptr;
  if (b == "lost_name") record.names = lost;
  if (b == "lost_value") record.values = lost;
  if (b == "endless_value") record.values = endless;
  if (b == "small_record") record.size = 8;
  if (b == "beyond") record.offset += 1000;
  if (b == "long_record") record.length = uint64_t{1} << 40;
  if (b == "wraps") record.offset = UINT64_MAX - 1, record.length = 50;
  if (b == "empty_record") record.length = 0;
  if (b == "backwards" && r.lines > 0) record.offset = 0;
  if (b == "other_layout" && r.lines > 0) record.count = 2;
  if (b == "null_record") return r.host->emit(r.host, nullptr);
  if (b == "too_many_fields") {
    record.count = many.size();
    record.names = record.values = many.data();
  }
  return r.host->emit(r.host, &record);
}

girdle_status put_aside(girdle_reader& r, uint64_t offset, uint64_t length, girdle_text reason,
                        uint32_t size) {
  const girdle_aside aside{size, 0, offset, length, r.lines + 1, reason};
  return r.host->aside(r.host, &aside);
}

girdle_status line_ended(girdle_reader& r, uint64_t offset) {
  const std::string& b = r.behaviour;
  const uint64_t length = r.line.size();
  girdle_status status;
  if (b == "asides") {
    status = put_aside(r, offset, length, text("line \x01 will not do"), sizeof(girdle_aside));
  } else if (b == "aside_without_reason") {
    status = put_aside(r, offset, length, {nullptr, 0}, sizeof(girdle_aside));
  } else if (b == "small_aside") {
    status = put_aside(r, offset, length, text("x"), 4);
  } else if (b == "lost_reason") {
    status = put_aside(r, offset, length, {nullptr, 7}, sizeof(girdle_aside));
  } else if (b == "flood") {
    do {
      status = put_aside(r, offset, 0, text("again"), sizeof(girdle_aside));
    } while (status == GIRDLE_OK);
  } else {
    girdle_record record{sizeof(girdle_record), 1, offset,  length,
                         r.lines + 1,           1, nullptr, nullptr};
    status = emit(r, record, "text", r.line);
  }
  if (b == "goes_on" && r.lines > 0) {
    girdle_record record{4, 1, offset, length, 1, 1, nullptr, nullptr};
    while (r.lines++ < 100) emit(r, record, "text", r.line);
  }
  ++r.lines;
  r.line.clear();
  return status;
}

girdle_reader* create(const girdle_reader_host* host, const girdle_reader_setup* setup) {
  auto* const r = new girdle_reader{host, {}, {}, 0, 0, 0, {}};
  for (size_t i = 0; i < setup->option_count; ++i) {
    if (std::string_view(setup->options[i].name.data, setup->options[i].name.size) != "behaviour")
      continue;
    r->behaviour.assign(setup->options[i].value.data, setup->options[i].value.size);
  }
  if (setup->resume.size > 0) r->begin.assign(setup->resume.data, setup->resume.size);
  misbehave_in("create", *r);
  if (r->behaviour == "refuses") host->refuse(host, text("this cannot\nbe"));
  if (r->behaviour == "emits_in_create")
    emit(*r, {sizeof(girdle_record), 1, 0, 1, 1, 1, nullptr, nullptr}, "text", "x");
  if (r->behaviour == "refuses" || r->behaviour == "refuses_in_silence") {
    delete r;
    return nullptr;
  }
  if (setup->resume.size > 0)
    r->lines = std::stoull(std::string(setup->resume.data, setup->resume.size));
  return r;
}

girdle_status feed(girdle_reader* r, const void* bytes, size_t size) {
  const char* const from = static_cast<const char*>(bytes);
  if (r->begin.size() < 8) r->begin.append(from, size < 8 ? size : 8);
  misbehave_in("feed", *r);
  if (r->behaviour == "gives_up_later" && r->fed > 0) return GIRDLE_FAILED;
  for (size_t i = 0; i < size; ++i) {
    if (from[i] != '\n') {
      r->line += from[i];
      continue;
    }
    const girdle_status status = line_ended(*r, r->fed + i - r->line.size());
    if (status != GIRDLE_OK && r->behaviour != "ignores_stop") return status;
    r->done = r->fed + i + 1;
  }
  r->fed += size;
  if (r->behaviour == "gives_up") return GIRDLE_FAILED;
  return r->behaviour == "odd_status" ? 77 : GIRDLE_OK;
}

girdle_status finish(girdle_reader* r) {
  misbehave_in("finish", *r);
  if (r->behaviour == "unfinished" || r->line.empty()) return GIRDLE_OK;
  const uint64_t offset = r->fed - r->line.size();
  r->done = r->fed;
  return line_ended(*r, offset);
}

uint64_t consumed(const girdle_reader* r) {
  misbehave_in("consumed", *r);
  if (r->behaviour == "holds_back" || r->behaviour == "never_done") return 0;
  if (r->behaviour == "done_too_early") return r->fed + 1;
  if (r->behaviour == "goes_back" && r->lines > 1) return 0;
  return r->done;
}

girdle_status save(girdle_reader* r, girdle_text* state) {
  misbehave_in("save", *r);
  if (r->behaviour == "cannot_save") return GIRDLE_FAILED;
  r->line = std::to_string(r->lines);
  *state = text(r->line);
  if (r->behaviour == "lost_state") *state = {nullptr, 9};
  return GIRDLE_OK;
}

void destroy(girdle_reader* r) {
  misbehave_in("destroy", *r);
  delete r;
}

const void* extension(const char*) { return nullptr; }

const girdle_reader_descriptor kOdd = {sizeof(girdle_reader_descriptor),
                                       0,
                                       "odd",
                                       "0.1.0",
                                       create,
                                       feed,
                                       finish,
                                       consumed,
                                       save,
                                       destroy,
                                       extension};
const girdle_reader_descriptor kHalf = {sizeof(girdle_reader_descriptor),
                                        0,
                                        "half",
                                        "0.1.0",
                                        create,
                                        feed,
                                        nullptr,
                                        consumed,
                                        save,
                                        destroy,
                                        extension};
const girdle_reader_descriptor kSmall = {8,      0,        "small", "0.1.0", create,   feed,
                                         finish, consumed, save,    destroy, extension};
const girdle_reader_descriptor kNameless = {sizeof(girdle_reader_descriptor),
                                            0,
                                            nullptr,
                                            nullptr,
                                            create,
                                            feed,
                                            finish,
                                            consumed,
                                            save,
                                            destroy,
                                            extension};

}  // namespace

girdle_status girdle_reader_negotiate(uint32_t host_min, uint32_t host_max, uint32_t* chosen) {
  if (host_min > GIRDLE_READER_ABI || host_max < GIRDLE_READER_ABI) return GIRDLE_UNSUPPORTED;
  *chosen = GIRDLE_READER_ABI;
  return GIRDLE_OK;
}

const girdle_reader_descriptor* girdle_reader_descriptor_at(uint32_t index) {
  const girdle_reader_descriptor* const readers[] = {&kNameless, &kSmall, &kOdd, &kHalf};
  return index < 4 ? readers[index] : nullptr;
}
