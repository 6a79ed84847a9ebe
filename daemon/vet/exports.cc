// After the System V ABI, "Object Files" (elf.h): section headers, the dynamic symbol table and its
// string table. Every offset is looked at before it is followed.
#include "vet/exports.h"

#include <elf.h>

#include <algorithm>
#include <cstring>
#include <fstream>
#include <iterator>
#include <optional>
#include <string_view>

namespace girdle::vet {
namespace {

using base::input_error;
using base::Result;

// The struct at that offset, if all of it is there.
template <class Struct>
std::optional<Struct> at(std::string_view bytes, uint64_t offset) {
  Struct found;
  if (offset > bytes.size() || bytes.size() - offset < sizeof found) return std::nullopt;
  std::memcpy(&found, bytes.data() + offset, sizeof found);
  return found;
}

std::string_view part(std::string_view bytes, uint64_t offset, uint64_t size) {
  if (offset > bytes.size() || size > bytes.size() - offset) return {};
  return bytes.substr(offset, size);
}

std::string name_at(std::string_view names, uint64_t offset) {
  if (offset >= names.size()) return {};
  names.remove_prefix(offset);
  return std::string(names.substr(0, names.find('\0')));
}

bool is_exported(const Elf64_Sym& symbol) {
  const auto binding = ELF64_ST_BIND(symbol.st_info);
  const auto visibility = ELF64_ST_VISIBILITY(symbol.st_other);
  return symbol.st_shndx != SHN_UNDEF && binding != STB_LOCAL &&
         (visibility == STV_DEFAULT || visibility == STV_PROTECTED);
}

void add_names(std::string_view symbols, std::string_view strings,
               std::vector<std::string>& names) {
  for (uint64_t offset = 0; const auto symbol = at<Elf64_Sym>(symbols, offset);
       offset += sizeof *symbol) {
    if (is_exported(*symbol)) names.push_back(name_at(strings, symbol->st_name));
  }
}

}  // namespace

Result<std::vector<std::string>> exported_names(const std::string& library) {
  std::ifstream file(library, std::ios::binary);
  return exported_names_in(
      std::string((std::istreambuf_iterator<char>(file)), std::istreambuf_iterator<char>()));
}

Result<std::vector<std::string>> exported_names_in(std::string_view bytes) {
  const auto header = at<Elf64_Ehdr>(bytes, 0);
  if (!header || std::memcmp(header->e_ident, ELFMAG, SELFMAG) != 0 ||
      header->e_ident[EI_CLASS] != ELFCLASS64)
    return input_error("it is no shared library of this system");
  std::vector<std::string> names;
  for (unsigned i = 0; i < header->e_shnum; ++i) {
    const auto section = at<Elf64_Shdr>(bytes, header->e_shoff + i * sizeof(Elf64_Shdr));
    if (!section || section->sh_type != SHT_DYNSYM) continue;
    const auto strings =
        at<Elf64_Shdr>(bytes, header->e_shoff + section->sh_link * sizeof(Elf64_Shdr));
    if (!strings) continue;
    add_names(part(bytes, section->sh_offset, section->sh_size),
              part(bytes, strings->sh_offset, strings->sh_size), names);
    break;  // there is one at most
  }
  std::sort(names.begin(), names.end());
  return names;
}

}  // namespace girdle::vet
