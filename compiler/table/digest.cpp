#include "table/digest.hpp"

#include <sodium/crypto_hash_sha256.h>

#include <algorithm>

#include "table/bytes.hpp"

namespace lw {

std::uint64_t set_identity(const std::vector<std::vector<std::uint8_t>*>& tables) {
  constexpr auto kFrom = static_cast<std::ptrdiff_t>(format::kIdentityAt);
  constexpr auto kTo = static_cast<std::ptrdiff_t>(format::kCrcAt + 4);
  crypto_hash_sha256_state state;
  crypto_hash_sha256_init(&state);
  for (std::vector<std::uint8_t>* table : tables) {
    std::fill(table->begin() + kFrom, table->begin() + kTo, std::uint8_t{0});
    crypto_hash_sha256_update(&state, table->data(), table->size());
  }
  unsigned char digest[crypto_hash_sha256_BYTES];
  crypto_hash_sha256_final(&state, digest);
  std::uint64_t identity = 0;
  for (unsigned k = 0; k < 8; ++k) identity |= std::uint64_t{digest[k]} << (8 * k);
  for (std::vector<std::uint8_t>* table : tables) {
    std::copy(digest, digest + 8, table->begin() + kFrom);
    set_crc(*table);
  }
  return identity;
}

}  // namespace lw
