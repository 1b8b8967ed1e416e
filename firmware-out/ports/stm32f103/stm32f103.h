/* The registers of an STM32F103 that the player uses. Source: ST's reference manual RM0008, sections named
 * beside each group; the memory map is in 3.3. Only what is used is named. */
#ifndef BURST_STM32F103_H
#define BURST_STM32F103_H

#include "cortex_m.h"

/* 3.3.3 and the flash programming manual PM0075: access time */
#define FLASH_ACR REGISTER(0x40022000UL)
#define FLASH_TWO_WAIT_STATES 2UL
#define FLASH_PREFETCH (1UL << 4)

/* 7.3 Reset and clock control (low, medium and high density) */
#define RCC_CR REGISTER(0x40021000UL)
#define RCC_CFGR REGISTER(0x40021004UL)
#define RCC_APB2ENR REGISTER(0x40021018UL)
#define RCC_APB1ENR REGISTER(0x4002101CUL)
#define RCC_CR_HSEON (1UL << 16)
#define RCC_CR_HSERDY (1UL << 17)
#define RCC_CR_CSSON (1UL << 19)
#define RCC_CR_PLLON (1UL << 24)
#define RCC_CR_PLLRDY (1UL << 25)
#define RCC_CFGR_PLL (2UL << 0)
#define RCC_CFGR_PLL_IN_USE (2UL << 2)
#define RCC_CFGR_APB1_HALF (4UL << 8)
#define RCC_CFGR_PLL_FROM_HSE (1UL << 16)
#define RCC_CFGR_PLL_TIMES_9 (7UL << 18)
#define RCC_APB2_GPIOA (1UL << 2)
#define RCC_APB2_GPIOB (1UL << 3)
#define RCC_APB2_TIM1 (1UL << 11)
#define RCC_APB1_TIM2 (1UL << 0)
#define RCC_APB1_PWR (1UL << 28)

/* 5.4 Power control: the voltage detector's flag */
#define PWR_CR REGISTER(0x40007000UL)
#define PWR_CSR REGISTER(0x40007004UL)
#define PWR_CR_DETECTOR_2V9 (7UL << 5 | 1UL << 4)
#define PWR_CSR_TOO_LOW (1UL << 2)

/* 9.2 GPIO: four bits a pin */
#define GPIOA_CRH REGISTER(0x40010804UL)
#define GPIOB_CRH REGISTER(0x40010C04UL)
#define GPIOB_IDR REGISTER(0x40010C08UL)
#define GPIOB_BSRR REGISTER(0x40010C10UL)
#define GPIO_TIMER_OUTPUT_50MHZ 0xBUL
#define GPIO_INPUT_PULLED 0x8UL

/* 14.4 TIM1 and 15.4 TIM2 */
#define TIM2_CR1 REGISTER(0x40000000UL)
#define TIM2_CR2 REGISTER(0x40000004UL)
#define TIM2_SR REGISTER(0x40000010UL)
#define TIM2_EGR REGISTER(0x40000014UL)
#define TIM2_CCMR1 REGISTER(0x40000018UL)
#define TIM2_CNT REGISTER(0x40000024UL)
#define TIM2_PSC REGISTER(0x40000028UL)
#define TIM2_ARR REGISTER(0x4000002CUL)
#define TIM2_CCR1 REGISTER(0x40000034UL)
#define TIM1_CR1 REGISTER(0x40012C00UL)
#define TIM1_SMCR REGISTER(0x40012C08UL)
#define TIM1_SR REGISTER(0x40012C10UL)
#define TIM1_EGR REGISTER(0x40012C14UL)
#define TIM1_CCMR1 REGISTER(0x40012C18UL)
#define TIM1_CCER REGISTER(0x40012C20UL)
#define TIM1_CNT REGISTER(0x40012C24UL)
#define TIM1_PSC REGISTER(0x40012C28UL)
#define TIM1_ARR REGISTER(0x40012C2CUL)
#define TIM1_CCR1 REGISTER(0x40012C34UL)
#define TIM1_BDTR REGISTER(0x40012C44UL)
#define TIM_CR1_CEN (1UL << 0)
#define TIM_CR1_OPM (1UL << 3)
#define TIM_CR2_TRGO_IS_OC1REF (4UL << 4)
#define TIM_SMCR_START_BY_TIM2 (1UL << 4 | 6UL << 0) /* ITR1 is TIM2 (table 86); trigger mode */
#define TIM_SR_UIF (1UL << 0)
#define TIM_SR_BIF (1UL << 7)
#define TIM_EGR_UG (1UL << 0)
#define TIM_OC1_HIGH_ON_MATCH (1UL << 4)
#define TIM_OC1_FORCED_LOW (4UL << 4)
#define TIM_OC1_PWM_2 (7UL << 4) /* low while the counter is below CCR1, then high */
#define TIM_CCER_CC1E (1UL << 0)
#define TIM_BDTR_OSSI (1UL << 10)
#define TIM_BDTR_BKE (1UL << 12)
#define TIM_BDTR_BKP (1UL << 13)
#define TIM_BDTR_MOE (1UL << 15)

/* 19.4 Independent watchdog: 40 kHz / 4 */
#define IWDG_KR REGISTER(0x40003000UL)
#define IWDG_PR REGISTER(0x40003004UL)
#define IWDG_RLR REGISTER(0x40003008UL)
#define IWDG_SR REGISTER(0x4000300CUL)
#define IWDG_UNLOCK 0x5555UL
#define IWDG_RELOAD 0xAAAAUL
#define IWDG_START 0xCCCCUL

#endif
