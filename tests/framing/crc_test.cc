// RevEng, Catalogue of parametrised CRC algorithms (reveng.sourceforge.io/crc-catalogue/all.htm),
// read through the crate crc-catalog 2.5.0: `check` is the CRC of the nine bytes "123456789";
// `residue` is what is left in the register after a message and its CRC, before xorout. Typed in
// below; where GIRDLE_SHARED names a folder that has the catalogue as JSON, the table is held
// against that too.
#include "framing/crc.h"

#include <gtest/gtest.h>
#include <simdjson.h>

#include <cstdlib>
#include <map>
#include <string>

#include "recorder.h"

namespace girdle::framing {
namespace {

const std::map<std::string, uint64_t> kChecks = {
    {"CRC-3/GSM", 0x4},
    {"CRC-3/ROHC", 0x6},
    {"CRC-4/G-704", 0x7},
    {"CRC-4/INTERLAKEN", 0xB},
    {"CRC-5/EPC-C1G2", 0x00},
    {"CRC-5/G-704", 0x07},
    {"CRC-5/USB", 0x19},
    {"CRC-6/CDMA2000-A", 0x0D},
    {"CRC-6/CDMA2000-B", 0x3B},
    {"CRC-6/DARC", 0x26},
    {"CRC-6/G-704", 0x06},
    {"CRC-6/GSM", 0x13},
    {"CRC-7/MMC", 0x75},
    {"CRC-7/ROHC", 0x53},
    {"CRC-7/UMTS", 0x61},
    {"CRC-8/AUTOSAR", 0xDF},
    {"CRC-8/BLUETOOTH", 0x26},
    {"CRC-8/CDMA2000", 0xDA},
    {"CRC-8/DARC", 0x15},
    {"CRC-8/DVB-S2", 0xBC},
    {"CRC-8/GSM-A", 0x37},
    {"CRC-8/GSM-B", 0x94},
    {"CRC-8/HITAG", 0xB4},
    {"CRC-8/I-432-1", 0xA1},
    {"CRC-8/I-CODE", 0x7E},
    {"CRC-8/LTE", 0xEA},
    {"CRC-8/MAXIM-DOW", 0xA1},
    {"CRC-8/MIFARE-MAD", 0x99},
    {"CRC-8/NRSC-5", 0xF7},
    {"CRC-8/OPENSAFETY", 0x3E},
    {"CRC-8/ROHC", 0xD0},
    {"CRC-8/SAE-J1850", 0x4B},
    {"CRC-8/SMBUS", 0xF4},
    {"CRC-8/TECH-3250", 0x97},
    {"CRC-8/WCDMA", 0x25},
    {"CRC-10/ATM", 0x199},
    {"CRC-10/CDMA2000", 0x233},
    {"CRC-10/GSM", 0x12A},
    {"CRC-11/FLEXRAY", 0x5A3},
    {"CRC-11/UMTS", 0x061},
    {"CRC-12/CDMA2000", 0xD4D},
    {"CRC-12/DECT", 0xF5B},
    {"CRC-12/GSM", 0xB34},
    {"CRC-12/UMTS", 0xDAF},
    {"CRC-13/BBC", 0x04FA},
    {"CRC-14/DARC", 0x082D},
    {"CRC-14/GSM", 0x30AE},
    {"CRC-15/CAN", 0x059E},
    {"CRC-15/MPT1327", 0x2566},
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
    {"CRC-17/CAN-FD", 0x04F03},
    {"CRC-21/CAN-FD", 0x0ED841},
    {"CRC-24/BLE", 0xC25A56},
    {"CRC-24/FLEXRAY-A", 0x7979BD},
    {"CRC-24/FLEXRAY-B", 0x1F23B8},
    {"CRC-24/INTERLAKEN", 0xB4F3E6},
    {"CRC-24/LTE-A", 0xCDE703},
    {"CRC-24/LTE-B", 0x23EF52},
    {"CRC-24/OPENPGP", 0x21CF02},
    {"CRC-24/OS-9", 0x200FA5},
    {"CRC-30/CDMA", 0x04C34ABF},
    {"CRC-31/PHILIPS", 0x0CE9E46C},
    {"CRC-32/AIXM", 0x3010BF7F},
    {"CRC-32/AUTOSAR", 0x1697D06A},
    {"CRC-32/BASE91-D", 0x87315576},
    {"CRC-32/BZIP2", 0xFC891918},
    {"CRC-32/CD-ROM-EDC", 0x6EC2EDC4},
    {"CRC-32/CKSUM", 0x765E7680},
    {"CRC-32/ISCSI", 0xE3069283},
    {"CRC-32/ISO-HDLC", 0xCBF43926},
    {"CRC-32/JAMCRC", 0x340BC6D9},
    {"CRC-32/MEF", 0xD2C22F51},
    {"CRC-32/MPEG-2", 0x0376E6E7},
    {"CRC-32/XFER", 0xBD0BE338},
    {"CRC-40/GSM", 0xD4164FC646},
    {"CRC-64/ECMA-182", 0x6C40DF5F0B497347},
    {"CRC-64/GO-ISO", 0xB90956C775A41001},
    {"CRC-64/MS", 0x75D4B74F024ECEEA},
    {"CRC-64/NVME", 0xAE8B14860A799888},
    {"CRC-64/REDIS", 0xE9C6D914C4B8D9CA},
    {"CRC-64/WE", 0x62EC59E3F1A4F00A},
    {"CRC-64/XZ", 0x995DC9BBDF1939FA},
};

// Of the algorithms that fill whole bytes, so that a message and its CRC are bytes again.
const std::map<std::string, uint64_t> kResidues = {
    {"CRC-8/AUTOSAR", 0x42},
    {"CRC-8/BLUETOOTH", 0x00},
    {"CRC-8/CDMA2000", 0x00},
    {"CRC-8/DARC", 0x00},
    {"CRC-8/DVB-S2", 0x00},
    {"CRC-8/GSM-A", 0x00},
    {"CRC-8/GSM-B", 0x53},
    {"CRC-8/HITAG", 0x00},
    {"CRC-8/I-432-1", 0xAC},
    {"CRC-8/I-CODE", 0x00},
    {"CRC-8/LTE", 0x00},
    {"CRC-8/MAXIM-DOW", 0x00},
    {"CRC-8/MIFARE-MAD", 0x00},
    {"CRC-8/NRSC-5", 0x00},
    {"CRC-8/OPENSAFETY", 0x00},
    {"CRC-8/ROHC", 0x00},
    {"CRC-8/SAE-J1850", 0xC4},
    {"CRC-8/SMBUS", 0x00},
    {"CRC-8/TECH-3250", 0x00},
    {"CRC-8/WCDMA", 0x00},
    {"CRC-16/ARC", 0x0000},
    {"CRC-16/CDMA2000", 0x0000},
    {"CRC-16/CMS", 0x0000},
    {"CRC-16/DDS-110", 0x0000},
    {"CRC-16/DECT-R", 0x0589},
    {"CRC-16/DECT-X", 0x0000},
    {"CRC-16/DNP", 0x66C5},
    {"CRC-16/EN-13757", 0xA366},
    {"CRC-16/GENIBUS", 0x1D0F},
    {"CRC-16/GSM", 0x1D0F},
    {"CRC-16/IBM-3740", 0x0000},
    {"CRC-16/IBM-SDLC", 0xF0B8},
    {"CRC-16/ISO-IEC-14443-3-A", 0x0000},
    {"CRC-16/KERMIT", 0x0000},
    {"CRC-16/LJ1200", 0x0000},
    {"CRC-16/M17", 0x0000},
    {"CRC-16/MAXIM-DOW", 0xB001},
    {"CRC-16/MCRF4XX", 0x0000},
    {"CRC-16/MODBUS", 0x0000},
    {"CRC-16/NRSC-5", 0x0000},
    {"CRC-16/OPENSAFETY-A", 0x0000},
    {"CRC-16/OPENSAFETY-B", 0x0000},
    {"CRC-16/PROFIBUS", 0xE394},
    {"CRC-16/RIELLO", 0x0000},
    {"CRC-16/SPI-FUJITSU", 0x0000},
    {"CRC-16/T10-DIF", 0x0000},
    {"CRC-16/TELEDISK", 0x0000},
    {"CRC-16/TMS37157", 0x0000},
    {"CRC-16/UMTS", 0x0000},
    {"CRC-16/USB", 0xB001},
    {"CRC-16/XMODEM", 0x0000},
    {"CRC-24/BLE", 0x000000},
    {"CRC-24/FLEXRAY-A", 0x000000},
    {"CRC-24/FLEXRAY-B", 0x000000},
    {"CRC-24/INTERLAKEN", 0x144E63},
    {"CRC-24/LTE-A", 0x000000},
    {"CRC-24/LTE-B", 0x000000},
    {"CRC-24/OPENPGP", 0x000000},
    {"CRC-24/OS-9", 0x800FE3},
    {"CRC-32/AIXM", 0x00000000},
    {"CRC-32/AUTOSAR", 0x904CDDBF},
    {"CRC-32/BASE91-D", 0x45270551},
    {"CRC-32/BZIP2", 0xC704DD7B},
    {"CRC-32/CD-ROM-EDC", 0x00000000},
    {"CRC-32/CKSUM", 0xC704DD7B},
    {"CRC-32/ISCSI", 0xB798B438},
    {"CRC-32/ISO-HDLC", 0xDEBB20E3},
    {"CRC-32/JAMCRC", 0x00000000},
    {"CRC-32/MEF", 0x00000000},
    {"CRC-32/MPEG-2", 0x00000000},
    {"CRC-32/XFER", 0x00000000},
    {"CRC-64/ECMA-182", 0x0000000000000000},
    {"CRC-64/GO-ISO", 0x5300000000000000},
    {"CRC-64/MS", 0x0000000000000000},
    {"CRC-64/NVME", 0xF310303B2B6F6E42},
    {"CRC-64/REDIS", 0x0000000000000000},
    {"CRC-64/WE", 0xFCACBEBD5931A992},
    {"CRC-64/XZ", 0x49958C9ABD7D353F},
};

// A CRC as it follows its message: the highest power first, which is the low byte where the
// register is reflected.
std::string on_the_wire(uint64_t value, const CrcParameters& crc) {
  std::string out;
  for (unsigned at = 0; at < crc.width; at += 8) {
    out += static_cast<char>(value >> (crc.refout ? at : crc.width - 8 - at));
  }
  return out;
}

uint64_t residue_of(const CrcParameters& parameters) {
  const Crc crc(parameters);
  std::string message = "123456789";
  message += on_the_wire(crc.of(message), parameters);
  return crc.of(message) ^ parameters.xorout;
}

TEST(Crc, GivesThePublishedCheckValueOfEveryEntryOfTheCatalogue) {
  ASSERT_EQ(crc_catalogue().size(), kChecks.size());
  for (const auto& [name, check] : kChecks) {
    const CrcParameters* const parameters = find_crc(name);
    ASSERT_NE(parameters, nullptr) << name;
    EXPECT_EQ(Crc(*parameters).of("123456789"), check) << name;
  }
}

TEST(Crc, LeavesThePublishedResidueBehindAMessageAndItsCrc) {
  for (const auto& [name, residue] : kResidues) {
    const CrcParameters* const parameters = find_crc(name);
    ASSERT_NE(parameters, nullptr) << name;
    EXPECT_EQ(residue_of(*parameters), residue) << name;
  }
}

TEST(Crc, IsFoundByNameWhateverTheCase) {
  ASSERT_NE(find_crc("crc-16/modbus"), nullptr);
  EXPECT_EQ(find_crc("crc-16/modbus")->name, "CRC-16/MODBUS");
  EXPECT_EQ(find_crc("crc-16/modbu"), nullptr);
  EXPECT_EQ(find_crc("crc-16/modbusx"), nullptr);
  EXPECT_EQ(find_crc(""), nullptr);
}

// Frames whose last two bytes are the CRC-16/MODBUS of the rest, low byte first: pymodbus framer
// tests (BSD), github pymodbus-dev/pymodbus @7361275 test/framer/test_framer.py; the first: MODBUS
// over Serial Line Specification V1.02, as cited in minimalmodbus' tests, github
// pyhys/minimalmodbus @785262d; the second from the latter; the last from the worked example at
// bbs.21ic.com/icview-162927-1-1.html.
TEST(Crc, AgreesWithPublishedModbusFrames) {
  const CrcParameters& modbus = *find_crc("CRC-16/MODBUS");
  for (const char* text :
       {"02074112", "41424344450F50", "0003007c00020402", "0083029131", "110304008d008efbbd",
        "118302c134", "ff03007c0002100d", "ff0304008d008ef5b3", "1103006b00037687"}) {
    const std::string frame = unhex(text);
    const std::string_view body = std::string_view(frame).substr(0, frame.size() - 2);
    EXPECT_EQ(on_the_wire(Crc(modbus).of(body), modbus), frame.substr(frame.size() - 2)) << text;
  }
}

uint64_t number(simdjson::dom::element entry, const char* key) {
  return std::stoull(std::string(std::string_view(entry[key])), nullptr, 16);
}

TEST(Crc, HoldsTheWholeCatalogueUpTo64Bits) {
  const char* shared = std::getenv("GIRDLE_SHARED");
  if (shared == nullptr) GTEST_SKIP() << "GIRDLE_SHARED is not set; the values above stand for it";
  simdjson::dom::parser parser;
  const simdjson::dom::element file =
      parser.load(std::string(shared) + "/suites/crc-catalogue/crc_catalogue.json");
  size_t held = 0, left_out = 0;
  for (const simdjson::dom::element entry : file["entries"].get_array()) {
    const std::string name{std::string_view(entry["name"])};
    const CrcParameters* const ours = find_crc(name);
    if (uint64_t(entry["width"]) > 64) {
      ++left_out;
      EXPECT_EQ(ours, nullptr) << name;
      continue;
    }
    ++held;
    ASSERT_NE(ours, nullptr) << name;
    EXPECT_EQ(ours->width, uint64_t(entry["width"])) << name;
    EXPECT_EQ(ours->poly, number(entry, "poly")) << name;
    EXPECT_EQ(ours->init, number(entry, "init")) << name;
    EXPECT_EQ(ours->refin, bool(entry["refin"])) << name;
    EXPECT_EQ(ours->refout, bool(entry["refout"])) << name;
    EXPECT_EQ(ours->xorout, number(entry, "xorout")) << name;
    EXPECT_EQ(Crc(*ours).of("123456789"), number(entry, "check")) << name;
    if (ours->width % 8 == 0) {
      EXPECT_EQ(residue_of(*ours), number(entry, "residue")) << name;
    }
  }
  EXPECT_EQ(held, crc_catalogue().size());
  EXPECT_EQ(held, 112u);
  EXPECT_EQ(left_out, 1u);  // CRC-82/DARC
}

}  // namespace
}  // namespace girdle::framing
