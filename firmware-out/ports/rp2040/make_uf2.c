/* make_uf2 IN.bin OUT.uf2: a flash image as UF2, the format of blocks that RP2040's ROM takes as a file.
 * Source: "USB Flashing Format (UF2)", file format; family and addresses: RP2040 Datasheet, 2.8.4. */
#include <stdint.h>
#include <stdio.h>

enum { PAYLOAD = 256, BLOCK = 512, DATA_AT = 32 };
#define FLASH 0x10000000UL
#define FAMILY_RP2040 0xE48BFF56UL
#define FLAG_FAMILY 0x00002000UL

static void put_word(uint8_t* at, uint32_t value) {
  int i;
  for (i = 0; i < 4; ++i) at[i] = (uint8_t)(value >> 8 * i);
}

static int write_block(FILE* out, const uint8_t* payload, uint32_t number, uint32_t of) {
  uint8_t block[BLOCK] = {0};
  const uint32_t head[] = {0x0A324655UL, 0x9E5D5157UL, FLAG_FAMILY, FLASH + number * PAYLOAD,
                           PAYLOAD,      number,       of,          FAMILY_RP2040};
  int i;
  for (i = 0; i < 8; ++i) put_word(block + 4 * i, head[i]);
  for (i = 0; i < PAYLOAD; ++i) block[DATA_AT + i] = payload[i];
  put_word(block + BLOCK - 4, 0x0AB16F30UL);
  return fwrite(block, BLOCK, 1, out) == 1;
}

static int convert(FILE* in, FILE* out) {
  long bytes;
  uint32_t number, blocks;
  if (fseek(in, 0, SEEK_END) != 0 || (bytes = ftell(in)) <= 0) return 0;
  rewind(in);
  blocks = (uint32_t)((bytes + PAYLOAD - 1) / PAYLOAD);
  for (number = 0; number < blocks; ++number) {
    uint8_t payload[PAYLOAD] = {0};
    if (fread(payload, 1, PAYLOAD, in) == 0 || !write_block(out, payload, number, blocks)) return 0;
  }
  return 1;
}

int main(int count, char** words) {
  FILE *in, *out;
  int done;
  if (count != 3) {
    fprintf(stderr, "usage: make_uf2 IN.bin OUT.uf2\n");
    return 2;
  }
  in = fopen(words[1], "rb");
  out = in ? fopen(words[2], "wb") : NULL;
  done = out && convert(in, out);
  if (out && fclose(out) != 0) done = 0;
  if (in) fclose(in);
  if (!done) {
    fprintf(stderr, "make_uf2: %s could not be made from %s\n", words[2], words[1]);
    remove(words[2]);
  }
  return done ? 0 : 1;
}
