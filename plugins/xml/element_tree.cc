#include "xml/element_tree.h"

#include <new>

namespace girdle::xml {

pugi::xml_parse_result plant(std::string_view element, pugi::xml_document& tree) {
  static constexpr unsigned kTexts = pugi::parse_cdata | pugi::parse_escapes | pugi::parse_eol |
                                     pugi::parse_wconv_attribute | pugi::parse_ws_pcdata;
  const pugi::xml_parse_result result =
      tree.load_buffer(element.data(), element.size(), kTexts, pugi::encoding_utf8);
  if (result.status == pugi::status_out_of_memory) throw std::bad_alloc();
  return result;
}

}  // namespace girdle::xml
