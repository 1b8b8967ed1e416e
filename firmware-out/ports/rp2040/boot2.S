/* The second stage of the boot: the first 256 bytes of flash, which the chip's ROM copies to RAM and runs when
 * their last word is the checksum of the rest (RP2040 Datasheet, 2.8.1.3). Ours is the plainest: serial read
 * command 03h with 24 address bits, which every such flash chip knows, at a pace that all of them keep; the
 * player runs from RAM and reads the table alone from here. Registers: 4.10 (SSI), SSI_BASE 0x18000000. */
    .syntax unified
    .cpu cortex-m0plus
    .thumb

    .section .boot2, "ax"
    .thumb_func
    .global boot2
boot2:
    ldr r3, ssi
    movs r0, #0
    str r0, [r3, #0x08]     /* SSIENR: off, to be set up */
    movs r1, #4
    str r1, [r3, #0x14]     /* BAUDR: clk_sys / 4, 30 MHz at 120 MHz */
    ldr r1, ctrlr0
    str r1, [r3, #0x00]     /* CTRLR0 */
    str r0, [r3, #0x04]     /* CTRLR1: one word a read */
    ldr r1, spi_ctrlr0
    ldr r2, at_spi_ctrlr0
    str r1, [r2]            /* SPI_CTRLR0 */
    movs r1, #1
    str r1, [r3, #0x08]     /* SSIENR: on; flash can be read from here on */
    ldr r0, vector_table
    ldr r1, vtor
    str r0, [r1]
    ldr r1, [r0, #0]
    msr msp, r1
    ldr r1, [r0, #4]
    bx r1

    .balign 4
ssi:            .word 0x18000000
ctrlr0:         .word 0x001F0300    /* standard SPI, 32-bit frames, EEPROM read: command, then data */
spi_ctrlr0:     .word 0x03000218    /* command 03h of 8 bits, address of 24 bits, both on one wire */
at_spi_ctrlr0:  .word 0x180000F4
vector_table:   .word 0x10000100
vtor:           .word 0xE000ED08

    .org 252
    .word 0x045BBA61    /* CRC-32: polynomial 0x04C11DB7, from all ones, not reflected, not inverted */
