#include "framing/crc16.h"

#include <gtest/gtest.h>

#include <map>
#include <string>

#include "recorder.h"

namespace girdle::framing {
namespace {

// RevEng, Catalogue of parametrised CRC algorithms (reveng.sourceforge.io/crc-catalogue/all.htm),
// the field `check`: the CRC of the nine bytes "123456789". Read through the crate
// crc-catalog 2.5.0.
const std::map<std::string, uint16_t> kPublished = {
    {"CRC-16/ARC", 0xBB3D},
    {"CRC-16/CDMA2000", 0x4C06},
    {"CRC-16/CMS", 0xAEE7},
    {"CRC-16/DDS-110", 0x9ECF},
    {"CRC-16/DECT-R", 0x007E},
    {"CRC-16/DECT-X", 0x007F},
    {"CRC-16/DNP", 0xEA82},
    {"CRC-16/EN-13757", 0xC2B7},
    {"CRC-16/GENIBUS", 0xD64E},
    {"CRC-16/GSM", 0xCE3C},
    {"CRC-16/IBM-3740", 0x29B1},
    {"CRC-16/IBM-SDLC", 0x906E},
    {"CRC-16/ISO-IEC-14443-3-A", 0xBF05},
    {"CRC-16/KERMIT", 0x2189},
    {"CRC-16/LJ1200", 0xBDF4},
    {"CRC-16/M17", 0x772B},
    {"CRC-16/MAXIM-DOW", 0x44C2},
    {"CRC-16/MCRF4XX", 0x6F91},
    {"CRC-16/MODBUS", 0x4B37},
    {"CRC-16/NRSC-5", 0xA066},
    {"CRC-16/OPENSAFETY-A", 0x5D38},
    {"CRC-16/OPENSAFETY-B", 0x20FE},
    {"CRC-16/PROFIBUS", 0xA819},
    {"CRC-16/RIELLO", 0x63D0},
    {"CRC-16/SPI-FUJITSU", 0xE5CC},
    {"CRC-16/T10-DIF", 0xD0DB},
    {"CRC-16/TELEDISK", 0x0FB3},
    {"CRC-16/TMS37157", 0x26B1},
    {"CRC-16/UMTS", 0xFEE8},
    {"CRC-16/USB", 0xB4C8},
    {"CRC-16/XMODEM", 0x31C3},
};

// The same catalogue, the field `residue`: what is left in the register after a message and its
// CRC, before xorout. Only of the algorithms that send the highest power first, whose wire order is
// the number's own.
const std::map<std::string, uint16_t> kResidues = {
    {"CRC-16/CDMA2000", 0x0000},     {"CRC-16/CMS", 0x0000},      {"CRC-16/DDS-110", 0x0000},
    {"CRC-16/DECT-R", 0x0589},       {"CRC-16/DECT-X", 0x0000},   {"CRC-16/EN-13757", 0xA366},
    {"CRC-16/GENIBUS", 0x1D0F},      {"CRC-16/GSM", 0x1D0F},      {"CRC-16/IBM-3740", 0x0000},
    {"CRC-16/LJ1200", 0x0000},       {"CRC-16/M17", 0x0000},      {"CRC-16/OPENSAFETY-A", 0x0000},
    {"CRC-16/OPENSAFETY-B", 0x0000}, {"CRC-16/PROFIBUS", 0xE394}, {"CRC-16/SPI-FUJITSU", 0x0000},
    {"CRC-16/T10-DIF", 0x0000},      {"CRC-16/TELEDISK", 0x0000}, {"CRC-16/UMTS", 0x0000},
    {"CRC-16/XMODEM", 0x0000},
};

TEST(Crc16, GivesThePublishedCheckValueOfEveryEntryOfTheCatalogue) {
  ASSERT_EQ(crc16_catalogue().size(), kPublished.size());
  for (const auto& [name, check] : kPublished) {
    const Crc16Parameters* const parameters = find_crc16(name);
    ASSERT_NE(parameters, nullptr) << name;
    EXPECT_EQ(Crc16(*parameters).of("123456789"), check) << name;
  }
}

TEST(Crc16, LeavesThePublishedResidueBehindAMessageAndItsCrc) {
  for (const auto& [name, residue] : kResidues) {
    const Crc16Parameters* const parameters = find_crc16(name);
    ASSERT_NE(parameters, nullptr) << name;
    const Crc16 crc(*parameters);
    std::string message = "123456789";
    const uint16_t value = crc.of(message);
    message += static_cast<char>(value >> 8);
    message += static_cast<char>(value & 0xFF);
    EXPECT_EQ(crc.of(message) ^ parameters->xorout, residue) << name;
  }
}

TEST(Crc16, IsFoundByNameWhateverTheCase) {
  ASSERT_NE(find_crc16("crc-16/modbus"), nullptr);
  EXPECT_EQ(find_crc16("crc-16/modbus")->name, "CRC-16/MODBUS");
  EXPECT_EQ(find_crc16("crc-16/modbu"), nullptr);
  EXPECT_EQ(find_crc16("crc-16/modbusx"), nullptr);
  EXPECT_EQ(find_crc16(""), nullptr);
}

// Frames whose last two bytes are the CRC-16/MODBUS of the rest, low byte first: pymodbus framer
// tests (BSD), github pymodbus-dev/pymodbus @7361275 test/framer/test_framer.py; the first: MODBUS
// over Serial Line Specification V1.02, as cited in minimalmodbus' tests, github
// pyhys/minimalmodbus @785262d; the second from the latter; the last from the worked example at
// bbs.21ic.com/icview-162927-1-1.html.
TEST(Crc16, AgreesWithPublishedModbusFrames) {
  const Crc16 crc(*find_crc16("CRC-16/MODBUS"));
  for (const char* text :
       {"02074112", "41424344450F50", "0003007c00020402", "0083029131", "110304008d008efbbd",
        "118302c134", "ff03007c0002100d", "ff0304008d008ef5b3", "1103006b00037687"}) {
    const std::string frame = unhex(text);
    const std::string_view body = std::string_view(frame).substr(0, frame.size() - 2);
    const uint16_t value = crc.of(body);
    const std::string wire = {static_cast<char>(value & 0xFF), static_cast<char>(value >> 8)};
    EXPECT_EQ(wire, frame.substr(frame.size() - 2)) << text;
  }
}

}  // namespace
}  // namespace girdle::framing
