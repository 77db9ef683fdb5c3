import { createTheme } from '@mantine/core';

// Petrol for what can be pressed, rust for what falls short. Shade 8 keeps white text on a filled button above 4.5:1.
export const theme = createTheme({
  primaryColor: 'petrol',
  primaryShade: { light: 8, dark: 8 },
  colors: {
    dark: [
      '#e4ecee',
      '#c3ced2',
      '#a3b3b9',
      '#7f9198',
      '#41535b',
      '#34444b',
      '#1e2a30',
      '#172126',
      '#131c20',
      '#10181c',
    ],
    petrol: [
      '#e6f4f5',
      '#cbe6e8',
      '#9fd0d4',
      '#71b9bf',
      '#4ba5ac',
      '#2f929a',
      '#1f818a',
      '#17707a',
      '#115f68',
      '#094950',
    ],
  },
  fontFamily: "Inter, 'Noto Sans', 'Segoe UI', 'DejaVu Sans', system-ui, sans-serif",
  defaultRadius: 'xs',
  fontSizes: { xs: '0.8125rem' },
});
