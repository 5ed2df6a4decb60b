// SHA-256 by libsodium. Tests: tests/unit/payload/digest_test.cpp.
#include "payload/digest.hpp"

#include <array>

namespace lw::payload {

Sha256::Sha256() { crypto_hash_sha256_init(&state_); }

void Sha256::add(std::string_view bytes) {
  crypto_hash_sha256_update(&state_, reinterpret_cast<const unsigned char*>(bytes.data()), bytes.size());
}

std::string Sha256::hex() {
  std::array<unsigned char, crypto_hash_sha256_BYTES> digest{};
  crypto_hash_sha256_final(&state_, digest.data());
  constexpr char kDigits[] = "0123456789abcdef";
  std::string out;
  out.reserve(2 * digest.size());
  for (const unsigned char byte : digest) {
    out.push_back(kDigits[byte >> 4]);
    out.push_back(kDigits[byte & 15]);
  }
  return out;
}

std::string sha256_hex(std::string_view bytes) {
  Sha256 digest;
  digest.add(bytes);
  return digest.hex();
}

}  // namespace lw::payload
