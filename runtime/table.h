// Constants of the table format (from table.def) and its little-endian byte readers; never a struct laid over
// bytes.
//
// All reading goes through lw_byte, so that a port may keep the table where plain pointers do not reach
// (flash on an AVR): define LW_READ_BYTE before including, e.g. to pgm_read_byte. Tests:
// tests/unit/runtime/block_test.cpp.
#ifndef LATCHWORK_TABLE_H
#define LATCHWORK_TABLE_H

#include <stdint.h>

typedef const uint8_t* lw_bytes;

#ifndef LW_READ_BYTE
#define LW_READ_BYTE(address) (*(address))
#endif

enum lw_section_number : uint8_t {
#define LW_SECTION(name, sentence) LW_SECTION_##name,
#include "runtime/table.def"
  LW_SECTIONS
};
enum lw_input_kind : uint8_t {
#define LW_INPUT_KIND(name, code, sentence) LW_INPUT_##name = code,
#include "runtime/table.def"
};
enum lw_fact_kind : uint8_t {
#define LW_FACT_KIND(name, code, operands, sentence) LW_FACT_##name = code,
#include "runtime/table.def"
};
enum lw_level_kind : uint8_t {
#define LW_LEVEL_KIND(name, code, sentence) LW_LEVEL_##name = code,
#include "runtime/table.def"
};
enum lw_output_test : uint8_t {
#define LW_OUTPUT_TEST(name, code, sentence) LW_OUTPUT_##name = code,
#include "runtime/table.def"
};
enum lw_rule_kind : uint8_t {
#define LW_RULE_KIND(name, code, sentence) LW_RULE_##name = code,
#include "runtime/table.def"
};
enum lw_action : uint8_t {
#define LW_ACTION(name, code, operands, sentence) LW_ACTION_##name = code,
#include "runtime/table.def"
};
enum lw_start_kind : uint8_t {
#define LW_START_KIND(name, code, sentence) LW_START_##name = code,
#include "runtime/table.def"
};
enum lw_limit : uint32_t {
#define LW_LIMIT(name, value, sentence) LW_MAX_##name = value,
#include "runtime/table.def"
};
enum lw_refusal : uint8_t {
#define LW_REFUSAL(name, code, sentence) LW_REFUSAL_##name = code,
#include "runtime/table.def"
};
enum : uint8_t { LW_OK = LW_REFUSAL_ok, LW_VERSION = 1 };
enum : uint16_t { LW_NOWHERE = 0xFFFF, LW_HEADER_SIZE = 24 + 2 * LW_SECTIONS };

#endif
