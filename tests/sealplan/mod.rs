//! sealplan
